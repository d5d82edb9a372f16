/** What a pixel shows. The numbers are the network's own order of classes. */
export const pixelClass = { background: 0, metal: 1, steel: 2, hole: 3 } as const;

/**
 * What the network saw, one byte a cell, row-major. Cell (i, j) covers the photograph from
 * `i * factorX - 0.5` to `(i + 1) * factorX - 0.5` px (and so in y): pixel centres have whole numbers.
 */
export interface ClassMap {
  readonly width: number;
  readonly height: number;
  /** Photograph pixels to one cell, along and down; at least 1, not always whole. */
  readonly factorX: number;
  readonly factorY: number;
  /** `pixelClass`: 0 background, 1 wheel or plate metal, 2 steel arbor, pinion or pin, 3 hole through the part. */
  readonly classOf: Uint8Array;
  /** Probability of the class named in `classOf`, 0 to 255. */
  readonly confidence: Uint8Array;
  /** Probability of metal (classes 1 and 2 together), 0 to 255. */
  readonly metal: Uint8Array;
}

/** Centre of cell `i` in pixels of the photograph; the same in y with `factorY`. */
export const photoFromCell = (factor: number, i: number): number => (i + 0.5) * factor - 0.5;

/** Where a pixel lies in cells (cell centres have whole numbers). */
export const cellFromPhoto = (factor: number, u: number): number => (u + 0.5) / factor - 0.5;
