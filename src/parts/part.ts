import type { Problem } from "../problem/index.js";
import type { Quantity } from "../quantity/index.js";

export type Point = readonly [number, number];

export type PartKind =
  "wheel" | "escape-wheel" | "ratchet" | "count-wheel" | "locking-cam" | "pinion" | "plate";

export interface CountAlternative {
  readonly count: number;
  readonly probability: number;
}

export type ToothState = "whole" | "short" | "missing" | "bent" | "unseen";

/** One tooth place on the wheel, numbered counter-clockwise from the one nearest to +x, from 1. */
export interface ToothPlace {
  readonly number: number;
  /** Counter-clockwise from x, seen from the camera. */
  readonly angleRad: number;
  readonly state: ToothState;
  readonly tipPx: Point;
  /** Index (cumulative pitch) deviation along the pitch circle, mm; absent where the tooth was not seen. */
  readonly indexDeviationMm?: number;
  /** Tip radius minus the mean tip radius, mm. */
  readonly tipDeviationMm?: number;
}

export interface TeethCount {
  readonly count: number;
  readonly probability: number;
  readonly alternatives: readonly CountAlternative[];
  readonly places: readonly ToothPlace[];
  /** What index deviations have allowed for walls under the flanks, as a share of what is seen of them. */
  readonly flankWallShare?: number;
  readonly missing: readonly { readonly angleRad: number }[];
  readonly bent: readonly { readonly angleRad: number; readonly offsetMm: number }[];
}

export interface Finding {
  readonly code: string;
  readonly severity: "note" | "watch" | "fault";
  readonly text: string;
}

/** A place on the pin circle; `off`: its pin stands beside it, bent or set wrongly. */
export interface PinPlace {
  /** Counter-clockwise from x, about the middle of the pin circle. */
  readonly angleRad: number;
  readonly state: "whole" | "off" | "missing" | "unseen";
  /** Along the circle, from its place in an even division; absent where no pin is seen. */
  readonly spacingDeviationMm?: number;
  /** How far the end of a pin that is off stands from its place. */
  readonly offMm?: number;
  /** Where its end is seen, or would be. For drawing. */
  readonly endPx: Point;
}

/** Lifting pins. */
export interface PinsOfWheel {
  /** Places of the even division, empty ones included. */
  readonly count: number;
  /** Of the feet. */
  readonly circleDiameterMm: Quantity<"mm">;
  readonly pinDiameterMm: Quantity<"mm">;
  /** Absent where the camera stood too nearly above the axis to show it. */
  readonly heightMm?: Quantity<"mm">;
  readonly places: readonly PinPlace[];
}

/** One notch of a count wheel. */
export interface Notch {
  /** Middle of its opening, counter-clockwise from x. */
  readonly angleRad: number;
  readonly widthMm?: number;
  readonly depthMm?: number;
  /**
   * `shallow`: half filled or not cut through; the detent may not drop in. `unseen`: its own wall would cover it from
   * where the camera stood; supposed, since the order of the others wants it.
   */
  readonly state: "whole" | "shallow" | "unseen";
}

/** What a count wheel strikes, read from its notches. */
export interface Notches {
  readonly notches: readonly Notch[];
  /** In one turn of the wheel, as the notches divide it. */
  readonly blowsPerTurn: number;
  /** From notch to notch, in striking order, from the run of one blow on where there is one. */
  readonly blows: readonly number[];
  /** Which way the notches follow each other in striking order. */
  readonly order?: "counter-clockwise" | "clockwise";
  /** A standard order that these notches give, or would give but for the places named. */
  readonly sequence?: "hours" | "hours and halves";
  /** Where that order wants a notch and none is open. */
  readonly missing: readonly { readonly angleRad: number; readonly afterBlows: number }[];
  /** Openings at which that order wants none. */
  readonly extra: readonly { readonly angleRad: number }[];
  readonly probability: number;
}

/** What a hole is for, as far as its size, place and company tell. */
export type HoleKind = "pivot" | "pillar" | "screw" | "opening";

/** A hole through a plate, on the plate's own face. */
export interface Hole {
  readonly id: string;
  readonly kind: HoleKind;
  readonly centrePx: Point;
  readonly centreMm: Point;
  /** Of one coordinate of the centre within this plate: what the camera moves all holes by is left out. */
  readonly uCentreMm: number;
  /** Mean of the greatest and the smallest. */
  readonly diameterMm: Quantity<"mm">;
  /** Greatest minus smallest diameter. */
  readonly ovalityMm: Quantity<"mm">;
  /** Direction of the greatest diameter, 0 to pi; absent where the hole may be round. */
  readonly ovalityAngleRad?: Quantity<"rad">;
  /** A ring of other metal round it. */
  readonly bushed?: boolean;
  /** Of that ring: where its seam is. */
  readonly bushDiameterMm?: Quantity<"mm">;
  readonly edgePx: readonly Point[];
}

/** A clock plate. */
export interface PlateForm {
  /** Corners and curves of its outline in the mat frame, mm. */
  readonly outlineMm: readonly Point[];
  readonly lengthMm: Quantity<"mm">;
  readonly widthMm: Quantity<"mm">;
  readonly isCutOff: boolean;
  /** Relative standard uncertainty of every distance on this plate: camera, print and height. */
  readonly uScale: number;
}

export type TurnDirection = "counter-clockwise" | "clockwise";

/** Where things are in the picture, for drawing only. Pixels of the upright photograph. */
export interface PartOutlinePx {
  readonly tipCircle: readonly Point[];
  readonly rootCircle: readonly Point[];
  readonly pitchCircle: readonly Point[];
  readonly bore?: readonly Point[];
  /** Outline of a part that has no tooth circle. */
  readonly edge?: readonly Point[];
  /** A scale bar on the face plane: two ends and its length. */
  readonly scaleBar?: { readonly from: Point; readonly to: Point; readonly lengthMm: number };
}

/** Rim unrolled: radius of the outline against angle, on the face plane. For plots. */
export interface RimProfile {
  readonly startAngleRad: number;
  readonly stepRad: number;
  /** NaN-free: absent samples are carried as the last known value and flagged in `seen`. */
  readonly radiusMm: Float64Array;
  readonly seen: Uint8Array;
}

/** A part found and measured on its own plane. Lengths are absent when the photograph carries no scale. */
export interface Part {
  readonly id: string;
  readonly kind: PartKind;
  readonly label?: string;
  /** Of a pinion that was seen on the arbor of a wheel: that wheel's id. */
  readonly onArborOf?: string;
  /** Centre of the tooth circle on its own plane. */
  readonly centrePx: Point;
  readonly centreMm?: Point;
  readonly faceHeightMm?: Quantity<"mm">;
  /** Absent when the count cannot be told; then `problems` says why. */
  readonly teeth?: TeethCount;
  readonly tipDiameterMm?: Quantity<"mm">;
  readonly rootDiameterMm?: Quantity<"mm">;
  readonly toothDepthMm?: Quantity<"mm">;
  readonly pitchDiameterMm?: Quantity<"mm">;
  readonly moduleMm?: Quantity<"mm">;
  /** Teeth per inch of pitch diameter. */
  readonly diametralPitch?: Quantity<"1">;
  readonly addendumAssumption?: string;
  readonly nearestPreferredModuleMm?: number;
  readonly crossings?: { readonly count: number };
  readonly pins?: PinsOfWheel;
  readonly notches?: Notches;
  readonly plate?: PlateForm;
  readonly holes?: readonly Hole[];
  /** Escape and ratchet wheels: the way in which the teeth point. */
  readonly rake?: TurnDirection;
  readonly boreDiameterMm?: Quantity<"mm">;
  /** Tooth circle against bore (the datum is named), as amount and direction. */
  readonly eccentricityMm?: Quantity<"mm">;
  readonly eccentricityAngleRad?: Quantity<"rad">;
  /** Radial and tangential estimate of the tooth circle's offset from the datum, mm along x and y. */
  readonly eccentricityEstimates?: {
    readonly datum: "bore" | "collet" | "tooth-circle";
    readonly radialMm: Point;
    readonly tangentialMm: Point;
    readonly uMm: number;
    readonly agree: boolean;
  };
  /** Without a scale: eccentricity over tip diameter. */
  readonly relativeEccentricity?: Quantity<"1">;
  readonly radialRunoutMm?: Quantity<"mm">;
  /** Tip circle, least-squares reference circle (LSCI, ISO 12181-1). */
  readonly roundnessMm?: Quantity<"mm">;
  /** Tip circle, minimum zone (MZCI). */
  readonly roundnessMinimumZoneMm?: Quantity<"mm">;
  /** Largest minus smallest diameter of the second harmonic. */
  readonly ovalityMm?: Quantity<"mm">;
  readonly ovalityAngleRad?: Quantity<"rad">;
  /** Peak to valley of the third harmonic. */
  readonly threeLobeMm?: Quantity<"mm">;
  readonly tiltRad?: Quantity<"rad">;
  readonly findings: readonly Finding[];
  readonly problems: readonly Problem[];
  readonly outlinePx: PartOutlinePx;
  readonly rim?: RimProfile;
}
