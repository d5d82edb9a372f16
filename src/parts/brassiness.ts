/** Anything that has a colour, code values 0 to 255. */
export interface Coloured {
  readonly red: number;
  readonly green: number;
  readonly blue: number;
}

/**
 * How much of brass's own colour a place has: 1 on the face of this part, 0 on anything without colour (paper, steel,
 * black). A ratio of channels, so that a shadow on brass stays brass; where it is too dark to have a colour, 0.
 */
export interface Brassiness {
  /** @param angleRad where on the face, as seen from its middle: glare takes colour away on one side of it. */
  at(colour: Coloured, angleRad: number): number;
  /** False where the face itself has lost its colour. */
  isClear(angleRad: number): boolean;
}

/** Less colour than this and brass cannot be told from steel by it. */
const leastColour = 0.06;
/** Code value below which noise makes colours up. */
const darkFloor = 14;

/** Share of the light that is brass's own colour, 0 for grey. */
export const rawColour = (s: Coloured): number =>
  (0.5 * (s.red + s.green) - s.blue) / (s.red + s.green + s.blue + darkFloor);

/**
 * @param samples `rawColour` over the face, one list for each equal sector counter-clockwise from x; the upper part of
 *   a list is taken for the bare face there.
 * @param neutral the same of something without colour in this light, the paper.
 * @returns undefined where the face has hardly more colour than the paper in most sectors.
 */
export function learnBrassiness(
  samples: readonly (readonly number[])[],
  neutral: number,
): Brassiness | undefined {
  const sectors = samples.length;
  const span = samples.map((list) => {
    const sorted = [...list].sort((a, b) => a - b);
    return sorted.length < 6 ? 0 : sorted[Math.floor(0.75 * sorted.length)]! - neutral;
  });
  if (span.filter((s) => s > leastColour).length < 0.5 * sectors) return undefined;
  const spanAt = (angleRad: number): number => {
    const turn = angleRad / (2 * Math.PI);
    const x = (turn - Math.floor(turn)) * sectors - 0.5 + sectors;
    const i = Math.floor(x);
    const [a, b] = [span[i % sectors]!, span[(i + 1) % sectors]!];
    return a + (x - i) * (b - a);
  };
  return {
    at: (colour, angleRad) => (rawColour(colour) - neutral) / Math.max(0.5 * leastColour, spanAt(angleRad)),
    isClear: (angleRad) => spanAt(angleRad) > leastColour,
  };
}
