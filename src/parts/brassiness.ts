/** Anything that has a colour, code values 0 to 255. */
export interface Coloured {
  readonly red: number;
  readonly green: number;
  readonly blue: number;
}

/** Less colour than this and brass cannot be told from steel by it. */
const leastColour = 0.06;
/** Code value below which noise makes colours up. */
const darkFloor = 14;

/** Share of the light that is brass's own colour, 0 for grey. */
export const rawColour = ({ red, green, blue }: Coloured): number => rawColourOf(red, green, blue);

export const rawColourOf = (red: number, green: number, blue: number): number =>
  (0.5 * (red + green) - blue) / (red + green + blue + darkFloor);

/**
 * How much of brass's own colour a place has: 1 on the face of this part, 0 on anything without colour (paper, steel,
 * black). A ratio of channels, so that a shadow on brass stays brass; where it is too dark to have a colour, 0.
 * Glare takes colour away on one side of a face, so it all depends on the angle, as seen from the face's middle.
 */
export class Brassiness {
  /** Colour of the bare face over that of the paper, one for each equal sector counter-clockwise from x. */
  readonly #span: Float64Array;
  readonly #neutral: number;

  constructor(span: Float64Array, neutral: number) {
    this.#span = span;
    this.#neutral = neutral;
  }

  at(colour: Coloured, angleRad: number): number {
    return this.ofSpan(colour, this.spanAt(angleRad));
  }

  /** The same, where `spanAt` of the place is known. */
  ofSpan(colour: Coloured, span: number): number {
    return (rawColour(colour) - this.#neutral) / Math.max(0.5 * leastColour, span);
  }

  /** `rawColour` of a place that is so much of brass, where `spanAt` of it is known. */
  rawAt(brassiness: number, span: number): number {
    return this.#neutral + brassiness * Math.max(0.5 * leastColour, span);
  }

  /** False where the face itself has lost its colour. */
  isClear(angleRad: number): boolean {
    return this.spanAt(angleRad) > leastColour;
  }

  spanAt(angleRad: number): number {
    const sectors = this.#span.length;
    const turn = angleRad / (2 * Math.PI);
    const x = (turn - Math.floor(turn)) * sectors - 0.5 + sectors;
    const i = Math.floor(x);
    const [a, b] = [this.#span[i % sectors]!, this.#span[(i + 1) % sectors]!];
    return a + (x - i) * (b - a);
  }
}

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
  const span = Float64Array.from(samples, (list) => {
    const sorted = [...list].sort((a, b) => a - b);
    return sorted.length < 6 ? 0 : sorted[Math.floor(0.75 * sorted.length)]! - neutral;
  });
  if (span.filter((s) => s > leastColour).length < 0.5 * span.length) return undefined;
  return new Brassiness(span, neutral);
}
