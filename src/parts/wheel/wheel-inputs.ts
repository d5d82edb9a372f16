import type { CircleTerm } from "../camera-terms.js";

/** Inputs that the sizes of one wheel share. */
export interface WheelInputs {
  readonly owner: string;
  readonly terms: readonly CircleTerm[];
  readonly uEdgeMm: number;
  /** Of the mean tooth, which goes by colour even where single teeth are too fine for that. */
  readonly uMeanEdgeMm: number;
  /** Metal was told by lightness alone. */
  readonly byLight: boolean;
}
