/** Radii of the tip and the root of the mean tooth, with the blur taken out. */
export interface ToothDepth {
  readonly tipMm: number;
  readonly rootMm: number;
  readonly uTipMm: number;
  readonly uRootMm: number;
  readonly blurMm: number;
  /** Root mean square of what the fit leaves, of the height of metal over the open sheet. */
  readonly rms: number;
}

/** Tip and root as the outline shows them. */
export type GuessedDepth = Pick<ToothDepth, "tipMm" | "rootMm">;

export interface DepthBlur {
  /** Of the signal: lens and stored colour together; standard deviation, mm, and how well that is known. */
  readonly sigmaMm: number;
  readonly uMm: number;
  /** Where the signal is not linear in the light. */
  readonly lens?: LensMixing;
}

export interface LensMixing {
  /** Blur of the lens alone, mm. */
  readonly sigmaMm: number;
  /** The signal against the share of light from metal (see Contrast): at the bottom of the spaces and at the tips. */
  readonly atRoot: Float64Array;
  readonly atTip: Float64Array;
}
