import type { InputId } from "../../quantity/index.js";
import type { SharedUnknown } from "../../view/index.js";
import type { Point, ToothState } from "../part.js";

/** A picture of the face round its centre: brightness and bareness against angle and radius, 0 to 255 each. */
export interface FacePicture {
  readonly angles: number;
  readonly radii: number;
  readonly fromRadiusMm: number;
  readonly stepMm: number;
  /** Angle i is 2 pi i / angles counter-clockwise from x; the value at i and radius j stands at i * radii + j. */
  readonly light: Uint8Array;
  /** 0 where the colour is that of the wheel, 255 where there is none (steel, paper), in shade as in light. */
  readonly bare: Uint8Array;
}

/**
 * The middle of the wheel as a square picture on the plane of the face, sides along x and y of the mat.
 * Row 0 lies at the smallest y; sample (i, j) is at x = (i - (size - 1) / 2) stepMm from the tooth circle's centre.
 */
export interface HubPicture {
  readonly size: number;
  readonly stepMm: number;
  /** Brightness, 0 to 255. */
  readonly light: Uint8Array;
  /** 0 where the colour is that of the wheel, 1 where there is none; see `BareColour`. */
  readonly bare: Float32Array;
}

/** What one standard uncertainty of one input does: to the centre of the tooth circle, and to the camera's place. */
export interface CentreTerm {
  readonly id: InputId;
  readonly dxMm: number;
  readonly dyMm: number;
  readonly cameraMm: readonly [number, number, number];
}

/** What this photograph says of camera and sheet, which the photographs of one set share. */
export interface CameraSeen {
  readonly widthPx: number;
  readonly heightPx: number;
  /** How the camera was held, as EXIF counts it; absent where the file does not say. */
  readonly orientation?: number;
  /** What it found, and what was believed before it. */
  readonly shared: readonly {
    readonly name: SharedUnknown;
    readonly value: number;
    readonly estimate: number;
    readonly u: number;
  }[];
  /**
   * Of the shared ones, then of the tooth circle's centre (x, y) and of the camera's place (x, y, z), mm; row-major,
   * prior included, before it is widened.
   */
  readonly covariance: Float64Array;
  /** How much larger the variances are, by the residuals. */
  readonly widenedBy: number;
}

/** How one tooth lies against the mean tooth of its wheel, mm: further out, and further round counter-clockwise. */
export interface ToothShift {
  readonly angleRad: number;
  readonly outMm: number;
  readonly alongMm: number;
}

/** Where a tooth stands, about the centre of the tooth circle. */
export interface ToothMarkMm {
  readonly angleRad: number;
  readonly state: ToothState;
  /** Tip radius minus the mean tip radius; index deviation along the pitch circle. */
  readonly tipDeviationMm: number;
  readonly indexDeviationMm: number;
}

/**
 * What one photograph holds of a wheel that several photographs are compared by. Plain data: it travels between
 * threads. mm in the mat frame, rad counter-clockwise seen from the camera.
 */
export interface WheelMarks {
  readonly partId: string;
  readonly label?: string;
  readonly kind: string;
  readonly toothCount: number;
  readonly countProbability: number;
  readonly crossings?: number;
  /** Radii on the plane of the outline. */
  readonly tipRadiusMm: number;
  readonly rootRadiusMm: number;
  /** Of the tip radius, from this photograph alone and from its scale and pose, not from the height. */
  readonly uTipRadiusMm: number;
  /** Height of the plane everything was measured on, of the face itself, and how well it is known. */
  readonly outlineMm: number;
  readonly faceMm: number;
  readonly uHeightMm: number;
  readonly heightGiven: boolean;
  readonly cameraMm: readonly [number, number, number];
  readonly camera: CameraSeen;
  readonly pxPerMm: number;
  /** Centre of the tooth circle on that plane, and the uncertainty of a coordinate from this photograph's edges. */
  readonly centreMm: Point;
  readonly uCentreMm: number;
  /** The same from the scatter of the teeth alone: what is left between photographs with the same light on the edges. */
  readonly uCentreScatterMm: number;
  /**
   * The centre that the tips alone give, minus the one that the spacing of the teeth gives, and the uncertainty of
   * a coordinate: a tilted face moves the first only. `wallMm` is what the wall that looks out adds to the difference
   * for each unit of its share under the tips that passes for metal, beyond what was allowed for.
   */
  readonly tipsOffMm: Point;
  readonly uTipsOffMm: number;
  readonly wallMm: Point;
  /** The same for the centre, and for that of the spacing. */
  readonly centreWallMm: Point;
  readonly spacingWallMm: Point;
  readonly uWallShare: number;
  /** Share that the tips have in the centre; the spacing has the rest. */
  readonly tipsWeight: number;
  /** Uncertainty of a coordinate of the centre that the spacing gives, and what of it is scatter. */
  readonly uSpacingMm: number;
  readonly uSpacingScatterMm: number;
  /** What each input of scale and pose does to it; what the height does follows from `cameraMm`. */
  readonly centreTerms: readonly CentreTerm[];
  /** Angle of one of the teeth about that centre; the others follow at the pitch. */
  readonly toothPhaseRad: number;
  readonly uToothPhaseRad: number;
  readonly teeth: readonly ToothMarkMm[];
  /** Every whole tooth against the mean tooth, about that centre. */
  readonly shifts: readonly ToothShift[];
  /** Height of the upper edge over the lower one. */
  readonly edgesApartMm: number;
  /** Whether the wheel has a colour of its own; without one `bare` is 0 everywhere. */
  readonly coloured: boolean;
  readonly face: FacePicture;
  readonly hub: HubPicture;
}
