import type { Paper } from "../../src/mat/index.js";
import type { Crossings } from "./outlines.js";
import type { WheelOutlineOptions } from "./wheel-outline.js";

/**
 * Everything a rendered photograph is made from. JSON-serialisable. Lengths in mm in the mat frame (x right,
 * y up the sheet, z towards the camera), angles in rad counter-clockwise seen from the camera.
 */
export interface Scene {
  readonly kind: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly camera: SceneCamera;
  readonly pose: ScenePose;
  readonly ground: Ground;
  readonly parts: readonly ScenePart[];
  readonly light: Light;
  readonly optics: Optics;
  readonly sensor: Sensor;
  /** Anything that a test needs to tell the product: measured bars, face heights by label. */
  readonly given: { readonly barAcrossMm?: number; readonly barAlongMm?: number };
}

/** Brown's lens: k1, k2 radial, p1, p2 tangential (0 unless a test asks for a lens the product cannot model). */
export interface SceneCamera {
  readonly fxPx: number;
  readonly fyPx: number;
  readonly cxPx: number;
  readonly cyPx: number;
  readonly k1: number;
  readonly k2: number;
  readonly p1: number;
  readonly p2: number;
}

/** Camera frame from mat frame; camera x right, y down, z forwards. */
export interface ScenePose {
  readonly rotation: readonly number[];
  readonly translationMm: readonly number[];
}

export type Surface = "white-paper" | "cloth" | "wood" | "dark-board" | "light-table";

export type Ground =
  | {
      readonly kind: "mat";
      readonly paper: Paper;
      /** Printed length over nominal length. */
      readonly printScaleAcross: number;
      readonly printScaleAlong: number;
      /** Greatest height of a gentle bow along the sheet; 0: flat. */
      readonly bowMm: number;
      /** A fold across the sheet that still stands up, at this y; it falls to the table within 45 mm. */
      readonly crease?: { readonly heightMm: number; readonly atMm: number };
      /** The piece of paper, where it is not the paper that the print was made for: width and height. */
      readonly sheetMm?: readonly [number, number];
      /** A second sheet lying over the first. */
      readonly second?: {
        readonly paper: Paper;
        readonly atMm: readonly [number, number];
        readonly turnRad: number;
      };
      /** What lies under the sheet. */
      readonly under: Surface;
    }
  | { readonly kind: "surface"; readonly surface: Surface };

export interface Light {
  readonly atMm: readonly [number, number, number];
  /** Radius of the lamp or window. */
  readonly radiusMm: number;
  /** Share of the light that comes from all around. */
  readonly ambient: number;
  /** Relative change of illumination per 100 mm along x and y. */
  readonly gradient: readonly [number, number];
  readonly whiteBalance: readonly [number, number, number];
  /** Strength of the lamp's mirror image in metal; 1 is a soft window, 20 a flash. */
  readonly glare: number;
}

export interface Optics {
  /** Gaussian blur of the lens and focus, px, in linear light. */
  readonly blurSigmaPx: number;
  /** Straight movement during the exposure, px. */
  readonly motionPx: readonly [number, number];
  /** Loss of light in the corner of the picture, share. */
  readonly vignette: number;
}

export interface Sensor {
  /** Linear value of perfectly white paper in full light; over 1 clips. */
  readonly exposure: number;
  /** Variance of the noise: shot * signal + read^2, in linear units of full scale. */
  readonly shotNoise: number;
  readonly readNoise: number;
  /** Unsharp mask after encoding, share; 0: none. */
  readonly sharpen: number;
  /** 0: not compressed. */
  readonly jpegQuality: number;
}

export type Finish = "turned" | "brushed" | "polished" | "matt";
export type Metal = "brass" | "patinated-brass" | "steel" | "blued-steel" | "nickel" | "copper";

export interface FaceLook {
  readonly metal: Metal;
  readonly finish: Finish;
  /** 0..1 each. */
  readonly mottling: number;
  readonly scratches: number;
  readonly engraving: number;
}

export interface Arbor {
  readonly radiusMm: number;
  /** Above the face. */
  readonly upMm: number;
  /** Below the face (down to the sheet or into it: cut off at z = 0). */
  readonly downMm: number;
  readonly pivotRadiusMm: number;
  readonly pivotLengthMm: number;
  /** Lean of the arbor against the wheel's axis and its direction. */
  readonly leanRad: number;
  readonly leanDirectionRad: number;
  /** Where it stands off the middle of the bore, in the part's own frame: play of a loose wheel. */
  readonly offsetMm?: readonly [number, number];
}

interface Placed {
  readonly label: string;
  /** Centre of the tooth circle (or of the part) on its face. */
  readonly atMm: readonly [number, number];
  /** Height of the face above the mat. */
  readonly faceHeightMm: number;
  readonly thicknessMm: number;
  readonly turnRad: number;
  /** Tilt of the face against the mat and its direction (the side that is lowered). */
  readonly tiltRad: number;
  readonly tiltDirectionRad: number;
}

export interface WheelPart extends Placed {
  readonly type: "wheel" | "pinion" | "count-wheel";
  readonly outline: WheelOutlineOptions;
  /** Notches of a count wheel by angle and half width, rad; instead of teeth. */
  readonly notches?: { readonly angleRad: number; readonly halfWidthRad: number }[];
  readonly crossings?: Crossings;
  readonly boreRadiusMm: number;
  /** Centre of the bore in the part's own frame (before turning): minus the eccentricity vector. */
  readonly boreAtMm: readonly [number, number];
  readonly bevelMm: number;
  readonly look: FaceLook;
  readonly collet?: { readonly radiusMm: number; readonly upMm: number };
  readonly arbor?: Arbor;
  readonly pinion?: {
    readonly leaves: number;
    readonly moduleMm: number;
    readonly fromMm: number;
    readonly lengthMm: number;
    readonly phaseRad: number;
  };
  readonly pins?: {
    readonly count: number;
    readonly circleRadiusMm: number;
    readonly pinRadiusMm: number;
    readonly upMm: number;
    readonly phaseRad: number;
    /** Bent pins, by index: lean about the foot and its direction. */
    readonly bent?: readonly {
      readonly index: number;
      readonly leanRad: number;
      readonly directionRad: number;
    }[];
  };
  /** Holes drilled through the face besides bore and crossings. */
  readonly spareHoles?: readonly { readonly atMm: readonly [number, number]; readonly radiusMm: number }[];
  /** What a plain or notched disc is, where its type alone does not say. */
  readonly purpose?: "lantern-pinion" | "pin-wheel" | "locking-cam";
}

/** Clock plate: rounded rectangle with pivot holes (some worn oval) and pillar holes. */
export interface PlatePart extends Placed {
  readonly type: "plate";
  readonly widthMm: number;
  readonly heightMm: number;
  readonly bevelMm: number;
  readonly look: FaceLook;
  readonly holes: readonly {
    readonly atMm: readonly [number, number];
    readonly diameterMm: number;
    /** Longest minus shortest diameter and the direction of the longest. */
    readonly ovalityMm: number;
    readonly ovalityAngleRad: number;
    readonly use?: "pivot" | "pillar" | "screw";
  }[];
}

/** Things that are no clock part. */
export interface OtherPart extends Placed {
  readonly type: "coin" | "washer" | "screw-head" | "screw-lying" | "finger" | "card" | "strip";
  readonly sizeMm: number;
  readonly look: FaceLook;
}

/** Cut-out tag: a card with a marker and its label. */
export interface TagPart extends Placed {
  readonly type: "tag";
  readonly tagLabel: string;
}

export type ScenePart = WheelPart | PlatePart | OtherPart | TagPart;
