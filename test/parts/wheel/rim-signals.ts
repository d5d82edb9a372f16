import { seededRandom, type SeededRandom } from "../../../src/quantity/index.js";
import type { RimSignal } from "../../../src/parts/wheel/rim-signal.js";

export interface RimWishes {
  readonly toothCount: number;
  /** Pixels from tooth to tooth; default 10. */
  readonly pxPerTooth?: number;
  /** Share of the pitch that is tooth; default 0.46. */
  readonly duty?: number;
  readonly missing?: readonly number[];
  /** Height of each tooth; default 1. */
  readonly heights?: (index: number) => number;
  /** How far the teeth run out of step once round, in pitches, and where most. */
  readonly wanderPitches?: number;
  readonly wanderRad?: number;
  /** Gaussian, px. */
  readonly blurPx?: number;
  /** Normal, of a pixel, in units of the contrast. */
  readonly noise?: number;
  /** Once-round change of the level, as an eccentric band has it. */
  readonly slow?: number;
  readonly phaseRad?: number;
  /** Part of the turn that is covered, from 0, as a share. */
  readonly hidden?: number;
  readonly seed?: number;
  /** As told by colour; default: by lightness. */
  readonly coarse?: boolean;
}

/** Abramowitz and Stegun 7.1.26; error below 1.5e-7. */
export function erf(x: number): number {
  const t = 1 / (1 + 0.3275911 * Math.abs(x));
  const poly =
    t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  return Math.sign(x) * (1 - poly * Math.exp(-x * x));
}

/** Share of a normal distribution below `z`. */
export const normalBelow = (z: number): number => 0.5 * (1 + erf(z / Math.SQRT2));

/** What a band across the teeth shows, from closed forms: softened rectangles, plus noise that is even along pixels. */
export function rimSignal(wishes: RimWishes): RimSignal {
  const { toothCount: n, pxPerTooth = 10, duty = 0.46, phaseRad = 0.1, blurPx = 0.8 } = wishes;
  const random = seededRandom(wishes.seed ?? 1);
  const pxPerTurn = n * pxPerTooth;
  const samples = pxPerTurn > 2500 ? 6144 : 3072;
  const value = new Float64Array(samples);
  const seen = new Uint8Array(samples).fill(1);
  const pitch = (2 * Math.PI) / n;
  const missing = new Set(wishes.missing ?? []);
  // A square of one pixel softens too: its variance is 1/12.
  const soft = (Math.hypot(blurPx, Math.sqrt(1 / 12)) * 2 * Math.PI) / pxPerTurn;
  for (let k = 0; k < n; k++) {
    if (missing.has(k)) continue;
    const even = phaseRad + k * pitch;
    const centre = even + (wishes.wanderPitches ?? 0) * pitch * Math.sin(even - (wishes.wanderRad ?? 0));
    const height = wishes.heights?.(k) ?? 1;
    const half = 0.5 * duty * pitch;
    const reach = half + 4 * soft;
    const from = Math.floor(((centre - reach) / (2 * Math.PI)) * samples);
    const to = Math.ceil(((centre + reach) / (2 * Math.PI)) * samples);
    for (let i = from; i <= to; i++) {
      const d = (2 * Math.PI * i) / samples - centre;
      value[((i % samples) + samples) % samples]! +=
        height * (normalBelow((d + half) / soft) - normalBelow((d - half) / soft));
    }
  }
  addNoise(value, wishes.noise ?? 0.02, Math.max(8, Math.round(pxPerTurn)), random);
  for (let i = 0; i < samples; i++) value[i]! += (wishes.slow ?? 0) * Math.cos((2 * Math.PI * i) / samples);
  const hidden = Math.round((wishes.hidden ?? 0) * samples);
  // What covers the rim is as bright as metal.
  for (let i = 0; i < hidden; i++) {
    seen[i] = 0;
    value[i] = 1;
  }
  return { value, seen, pxPerTurn, fromMm: 19, toMm: 20, coarse: wishes.coarse ?? false };
}

/** One draw a pixel, linear in between: samples lie closer than pixels. */
export function addNoise(value: Float64Array, sigma: number, pixels: number, random: SeededRandom): void {
  const draws = Float64Array.from({ length: pixels }, () => sigma * random.normal());
  for (let i = 0; i < value.length; i++) {
    const x = (i / value.length) * pixels;
    const at = Math.floor(x);
    value[i]! += draws[at % pixels]! * (1 - x + at) + draws[(at + 1) % pixels]! * (x - at);
  }
}
