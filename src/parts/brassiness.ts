import type { FaceSampler } from "./face-sampler.js";

/**
 * How much of brass's own colour a point has: 1 on the face of this part, 0 on anything without colour (paper, steel,
 * black). A ratio of channels, so that a shadow on brass stays brass; where it is too dark to have a colour, 0.
 */
export interface Brassiness {
  at(sampler: FaceSampler): number;
  /** Of the face itself, before it was made 1: share of the light that is colour. */
  readonly colour: number;
}

/** Less colour than this and brass cannot be told from steel by it. */
const leastColour = 0.09;
/** Code value below which noise makes colours up. */
const darkFloor = 14;

const colourOf = (s: FaceSampler): number =>
  (0.5 * (s.red + s.green) - s.blue) / (s.red + s.green + s.blue + darkFloor);

/**
 * @param samples colour measure over the face, as `rawColour` gives it; its upper half is taken for the bare face.
 * @param neutral the same of something without colour in this light, the paper.
 * @returns undefined where the face has hardly more colour than the paper.
 */
export function learnBrassiness(samples: readonly number[], neutral: number): Brassiness | undefined {
  if (samples.length < 50) return undefined;
  const sorted = [...samples].sort((a, b) => a - b);
  const face = sorted[Math.floor(0.6 * sorted.length)]!;
  const span = face - neutral;
  if (!(span > leastColour)) return undefined;
  return { colour: span, at: (s) => (colourOf(s) - neutral) / span };
}

export const rawColour = colourOf;
