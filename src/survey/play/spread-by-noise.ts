import { seededRandom, type InputId } from "../../quantity/index.js";
import type { TermedNumbers } from "../fit-by-terms.js";

/** What noise alone makes of a spread: its mean square, and what it exceeds once in 20 and once in 2000 sets. */
export interface NoiseSpread {
  readonly meanSquare: number;
  readonly limit95: number;
  readonly limit9995: number;
}

const draws = 4000;

/**
 * Draws the numbers of a set in which nothing moved, time and again, and measures the spread each time. The greatest
 * of several differences is larger than any one of them, which no formula for a single difference knows.
 *
 * @param spreadOf of numbers that noise has moved from zero; must take all that the evaluation takes (fit included).
 * Source: Monte Carlo by input, as in JCGM 101; 4000 draws put the last limit at their second largest.
 */
export function spreadByNoise(
  { values, terms }: TermedNumbers,
  spreadOf: (noise: Float64Array) => number,
): NoiseSpread {
  const m = values.length;
  const inputs: (readonly [InputId, Float64Array])[] = [...terms];
  const random = seededRandom(20);
  const noise = new Float64Array(m);
  const spreads = new Float64Array(draws);
  let squares = 0;
  for (let k = 0; k < draws; k++) {
    noise.fill(0);
    for (const [, term] of inputs) {
      const z = random.normal();
      for (let i = 0; i < m; i++) noise[i]! += z * term[i]!;
    }
    const s = spreadOf(noise);
    spreads[k] = s;
    squares += s * s;
  }
  spreads.sort();
  const at = (share: number): number => spreads[Math.min(draws - 1, Math.floor(share * draws))]!;
  return { meanSquare: squares / draws, limit95: at(0.95), limit9995: at(0.9995) };
}
