/** A wheel of which the truth is known. mm in the mat frame, px of the upright photograph. */
export interface KnownWheel {
  readonly label: string;
  /** Teeth, leaves, notches of a count wheel, or the pins that are teeth to a pin wheel. */
  readonly toothCount: number;
  /** A count wheel has notches at unlike distances; bars for teeth are not asked of it. */
  readonly isCountWheel: boolean;
  readonly centrePx: readonly [number, number];
  readonly centreMm: readonly [number, number];
  readonly faceHeightMm: number;
  readonly tipDiameterMm: number;
  /** Lantern pinions have none. */
  readonly rootDiameterMm?: number;
  readonly moduleMm?: number;
  /** Absent where arbor and collet hide it; so is the eccentricity against it. */
  readonly boreDiameterMm?: number;
  readonly eccentricityMm?: number;
  readonly ovalityMm: number;
  /** 0 for a wheel that lies flat. */
  readonly leanRad: number;
  readonly pxPerMm: number;
  readonly pxPerTooth: number;
  /** From the point straight below the camera, on the mat. */
  readonly fromFootMm: number;
  /** Share of the rim that is in the picture and uncovered. */
  readonly rimSeen: number;
  /** Of the pinion on its arbor; absent where it has none. */
  readonly pinionLeaves?: number;
}

/** A photograph on disk, and what is true of it. */
export interface KnownPhoto {
  /** Photographs of one kind share a row of the table. */
  readonly kind: string;
  readonly path: string;
  readonly onMat: boolean;
  /** What a user reads off the check bars of this print. */
  readonly bars: { readonly matAcrossMm?: number; readonly matAlongMm?: number };
  readonly wheels: readonly KnownWheel[];
  /** Plates are no toothed parts, but finding one is no mistake. */
  readonly plateCount: number;
}
