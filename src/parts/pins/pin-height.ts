/** How high pins stand, as far as one photograph tells. */
export interface PinHeight {
  /** h / (D - h), D from the camera to the face: how far ends are seen outwards, as a share of the distance. */
  readonly lean: number;
  readonly uLean: number;
  /** What the picture alone says, without the usual height; its u is infinite where it says nothing. */
  readonly seenMm: number;
  readonly uSeenMm: number;
}

export interface LeanClues {
  /** Height of the camera over the face; undefined without a mat, or for ends that lie in the face. */
  readonly eyeMm: number | undefined;
  /** Middle of the circle of ends minus axis of the wheel, mm. */
  readonly shiftMm: readonly [number, number];
  readonly uShiftMm: number;
  /** Axis minus foot point of the camera, mm. */
  readonly awayMm: readonly [number, number];
  /** How far the pictures are drawn out: not more than the pins lean, since not all of a wall need be seen. */
  readonly drawnOut: number;
  readonly uDrawnOut: number;
}

/** Lifting pins of clocks stand 2 to 5 mm out of the wheel (common practice, no source). */
const usualMm = 3.2;
const uUsualMm = 1;

/**
 * Pins stand on a circle about the axis of the wheel. Their ends are seen on a larger circle, which is shifted away
 * from the foot point of the camera: shift and growth are the same share of their distances. The shift is what one
 * photograph shows; without one, pins are taken to be as high as usual.
 */
export function pinHeight(clues: LeanClues): PinHeight {
  const { eyeMm, awayMm, shiftMm } = clues;
  if (eyeMm === undefined) return { lean: 0, uLean: 0.002, seenMm: 0, uSeenMm: Infinity };
  const away = Math.hypot(...awayMm);
  const shift = away > 1e-6 ? (shiftMm[0] * awayMm[0] + shiftMm[1] * awayMm[1]) / away : 0;
  const seen = [
    { lean: away > 1e-6 ? shift / away : 0, weight: away > 1e-6 ? (away / clues.uShiftMm) ** 2 : 0 },
  ];
  // A lower bound: it speaks only where the rest says less.
  if (seen[0]!.lean < clues.drawnOut || seen[0]!.weight === 0)
    seen.push({ lean: clues.drawnOut, weight: 1 / clues.uDrawnOut ** 2 });
  const of = (clueList: typeof seen): { lean: number; u: number } => {
    const total = clueList.reduce((s, c) => s + c.weight, 0);
    return { lean: clueList.reduce((s, c) => s + c.weight * c.lean, 0) / total, u: 1 / Math.sqrt(total) };
  };
  const usual = { lean: usualMm / (eyeMm - usualMm), weight: (eyeMm / uUsualMm) ** 2 };
  const all = of([...seen, usual]);
  const own = of(seen);
  const height = (lean: number): number => (eyeMm * lean) / (1 + lean);
  return { lean: all.lean, uLean: all.u, seenMm: height(own.lean), uSeenMm: eyeMm * own.u };
}
