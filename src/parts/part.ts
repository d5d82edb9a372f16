import type { Problem } from "../problem/index.js";
import type { Quantity } from "../quantity/index.js";

export type Point = readonly [number, number];

export type PartKind = "wheel" | "escape-wheel" | "ratchet" | "count-wheel" | "pinion" | "plate";

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
  readonly missing: readonly { readonly angleRad: number }[];
  readonly bent: readonly { readonly angleRad: number; readonly offsetMm: number }[];
}

export interface Finding {
  readonly code: string;
  readonly severity: "note" | "watch" | "fault";
  readonly text: string;
}

/** Where things are in the picture, for drawing only. Pixels of the upright photograph. */
export interface PartOutlinePx {
  readonly tipCircle: readonly Point[];
  readonly rootCircle: readonly Point[];
  readonly pitchCircle: readonly Point[];
  readonly bore?: readonly Point[];
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
