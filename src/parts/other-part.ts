import type { FaceHeight } from "./face-height.js";
import type { Part, Point } from "./part.js";

/** A part that is no toothed wheel, found but not yet named or measured. */
export interface OtherPart {
  readonly centrePx: Point;
  readonly radiusPx: number;
  /** Middle and reach on the usual plane, mm. */
  readonly xMm: number;
  readonly yMm: number;
  readonly reachMm: number;
  measure(height: FaceHeight, id: string, label: string | undefined): Part | undefined;
}
