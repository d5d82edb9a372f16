/** How often the tooth pattern goes through its period on one way round the wheel. */
export interface Winding {
  readonly count: number;
  /**
   * Least strength of the pattern anywhere on the turn, over its median. Where teeth are gained or lost (the outline
   * passes from wheel to shadow, say) it goes through nothing: near 0 the count is not certain.
   */
  readonly weakest: number;
  /** Median strength of the pattern over that of noise in the bands beside it. */
  readonly clearness: number;
}

/**
 * Teeth counted by phase, as a radio counts waves: the signal is turned back by a trial count, smoothed over some
 * teeth, and the turns that its phase still makes are added. Every wave between is counted, however fine, as long as
 * the smoothed pattern nowhere vanishes; a slow wander of the teeth (an eccentric, an oval, a slanting wheel) comes
 * back to where it began and changes nothing.
 *
 * @param value height of the metal against angle, one turn, without its slow wander; @param seen 1 where it was seen.
 * @param trial count near which the pattern is looked for; @param teeth standard width of the smoothing, in teeth.
 */
export function windingNear(value: Float64Array, seen: Uint8Array, trial: number, teeth: number): Winding {
  const sigma = (teeth * value.length) / trial;
  const pattern = turnedBack(value, seen, trial, sigma);
  const strength = pattern.re.map((re, i) => Math.hypot(re, pattern.im[i]!));
  const sorted = strength.slice().sort();
  const median = sorted[sorted.length >> 1]!;
  // Bands so far off that smoothing keeps the pattern out of them.
  const apart = Math.max(2, Math.round((2.6 * trial) / (2 * Math.PI * teeth)));
  const noises = [trial - apart, trial + apart]
    .filter((n) => n > 1)
    .map((n) => rms(turnedBack(value, seen, n, sigma)));
  return {
    count: trial + turnsOf(pattern),
    weakest: median > 0 ? sorted[0]! / median : 0,
    clearness: median / Math.max(1e-12, Math.max(...noises)),
  };
}

/** The count of `windingNear` alone. */
export function turnsNear(value: Float64Array, seen: Uint8Array, trial: number, teeth: number): number {
  return trial + turnsOf(turnedBack(value, seen, trial, (teeth * value.length) / trial));
}

/**
 * Where the teeth of a pattern stand that is too coarse to show them one by one: tooth k lies where
 * count t / (2 pi) = k + phase + wander(t), in pitches, with a wander of first and second order.
 */
export function placesOfPattern(
  value: Float64Array,
  seen: Uint8Array,
  count: number,
  teeth: number,
): { readonly phase: number; readonly wander: [number, number, number, number] } {
  const { re, im } = turnedBack(value, seen, count, (teeth * value.length) / count);
  const n = value.length;
  const sums = [0, 0, 0, 0, 0];
  let turned = Math.atan2(im[0]!, re[0]!);
  for (let i = 0; i < n; i++) {
    if (i > 0) turned += turnBetween({ re, im }, i - 1, i);
    const t = (2 * Math.PI * i) / n;
    [1, 2 * Math.cos(t), 2 * Math.sin(t), 2 * Math.cos(2 * t), 2 * Math.sin(2 * t)].forEach((wave, k) => {
      sums[k]! -= (turned * wave) / (2 * Math.PI * n);
    });
  }
  const [phase, ...wander] = sums as [number, number, number, number, number];
  return { phase, wander };
}

interface Complex {
  readonly re: Float64Array;
  readonly im: Float64Array;
}

/** The signal times exp(-i n t), smoothed round the turn; samples that were not seen are filled by their neighbours. */
function turnedBack(value: Float64Array, seen: Uint8Array, n: number, sigma: number): Complex {
  const { length } = value;
  const re = new Float64Array(length);
  const im = new Float64Array(length);
  const step = (2 * Math.PI * n) / length;
  for (let i = 0; i < length; i++) {
    if (!seen[i]) continue;
    re[i] = value[i]! * Math.cos(step * i);
    im[i] = -value[i]! * Math.sin(step * i);
  }
  const weight = smoothed(Float64Array.from(seen), sigma);
  const out = { re: smoothed(re, sigma), im: smoothed(im, sigma) };
  for (let i = 0; i < length; i++) {
    const w = Math.max(0.05, weight[i]!);
    out.re[i]! /= w;
    out.im[i]! /= w;
  }
  return out;
}

/** Three running means one after the other: a Gaussian to a few per cent, round the turn. */
function smoothed(value: Float64Array, sigma: number): Float64Array {
  const { length } = value;
  // Variance of a mean over 2 h + 1 samples: h (h + 1) / 3; three of them.
  const half = Math.min((length - 2) >> 1, Math.max(1, Math.round(-0.5 + Math.sqrt(0.25 + sigma * sigma))));
  let current = value;
  for (let pass = 0; pass < 3; pass++) {
    const next = new Float64Array(length);
    let sum = 0;
    for (let i = -half; i <= half; i++) sum += current[(i + length) % length]!;
    for (let i = 0; i < length; i++) {
      next[i] = sum / (2 * half + 1);
      sum += current[(i + half + 1) % length]! - current[(i - half + length) % length]!;
    }
    current = next;
  }
  return current;
}

const turnBetween = ({ re, im }: Complex, i: number, j: number): number =>
  Math.atan2(re[i]! * im[j]! - im[i]! * re[j]!, re[i]! * re[j]! + im[i]! * im[j]!);

/** Whole turns of the phase, once round. */
function turnsOf(pattern: Complex): number {
  const { length } = pattern.re;
  let turned = 0;
  for (let i = 0; i < length; i++) turned += turnBetween(pattern, i, (i + 1) % length);
  return Math.round(turned / (2 * Math.PI));
}

function rms({ re, im }: Complex): number {
  let sum = 0;
  for (let i = 0; i < re.length; i++) sum += re[i]! ** 2 + im[i]! ** 2;
  return Math.sqrt(sum / re.length);
}
