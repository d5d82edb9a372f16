import type { Point } from "../parts/index.js";
import type { Quantity } from "../quantity/index.js";
import type { SetKind } from "./set-photo.js";

export type SetProblemCode =
  | "set-too-few-photos"
  | "set-same-photo"
  | "set-different-wheels"
  | "set-wheel-not-found"
  | "set-wheel-leans"
  | "set-without-mat"
  | "set-count-unclear"
  | "turn-ambiguous"
  | "turn-too-little"
  | "turn-arbor-moved"
  | "play-no-arbor"
  | "play-no-reference"
  | "play-not-sharp-enough"
  | "play-leaning"
  | "height-camera-too-near"
  | "height-wheel-moved";

export interface SetProblem {
  readonly code: SetProblemCode;
  readonly text: string;
  readonly advice: string;
}

export interface SetFinding {
  readonly code: string;
  readonly severity: "note" | "watch" | "fault";
  readonly text: string;
}

/** Where the wheel stood in one photograph. */
export interface SetPosition {
  readonly file: string;
  readonly partId: string;
  /** Turn against the first photograph. */
  readonly turnRad: number;
  /** Centre of the tooth circle, on the plane of the face, mat frame. */
  readonly centreMm: Point;
  /** Middle of what is seen of the arbor, from the axis that all photographs together give, in the wheel's frame. */
  readonly arborMm?: Point;
  /** Where the arbor's axis meets the face, in the mat frame of this photograph alone. */
  readonly axisOnFaceMm?: Point;
  readonly twistRad?: number;
  readonly tiltRad?: Point;
  /** Left out of the result, and why. */
  readonly leftOut?: string;
}

/** The movement of a play set that stands out most from its noise, and the two photographs that are furthest apart in it. */
export interface GreatestMovement {
  readonly kind: "radial" | "twist" | "rock";
  readonly files: readonly [string, string];
}

/** What photographs of one wheel say together. Unknown is absent. */
export interface SetResult {
  readonly kind: SetKind;
  readonly label?: string;
  readonly photos: readonly string[];
  readonly positions: readonly SetPosition[];
  readonly eccentricityMm?: Quantity<"mm">;
  /** Direction of the tooth circle's centre from the axis in the first photograph. */
  readonly eccentricityAngleRad?: Quantity<"rad">;
  /** Circular run-out of a pure offset, 2 e (ISO 1101, from memory). */
  readonly radialRunoutMm?: Quantity<"mm">;
  /** How much the rim rises and falls over a turn about the arbor: circular axial run-out (ISO 1101, from memory). */
  readonly axialRunoutMm?: Quantity<"mm">;
  /** Where the rim stands highest in the first photograph. */
  readonly axialHighAngleRad?: Quantity<"rad">;
  readonly axisMm?: Point;
  readonly radialPlayMm?: Quantity<"mm">;
  readonly twistRad?: Quantity<"rad">;
  readonly rockRad?: Quantity<"rad">;
  /** Movement that these photographs would have shown (95 %). */
  readonly limits?: { readonly radialMm?: number; readonly twistRad?: number; readonly rockRad?: number };
  readonly greatestMovement?: GreatestMovement;
  readonly faceHeightMm?: Quantity<"mm">;
  /** Of a height set, on the plane that it found. */
  readonly tipDiameterMm?: Quantity<"mm">;
  readonly verdict?: "tight" | "loose" | "cannot tell";
  readonly findings: readonly SetFinding[];
  readonly problems: readonly SetProblem[];
}
