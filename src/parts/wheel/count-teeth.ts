import { solveLinearLeastSquares } from "../../fit/index.js";
import { placeInTurn } from "../../geometry/index.js";
import type { CountAlternative } from "../part.js";
import { turnTable } from "./fourier.js";
import type { RimSignal } from "./rim-signal.js";
import { peaksOf, spectrumOf } from "./spectrum.js";
import { isCoarsePattern } from "./coarse-pattern.js";
import { placesOfPattern, turnsNear, windingNear } from "./winding.js";
import { findToothMarks, type ToothMark } from "./tooth-marks.js";

/** What each way of counting says, and what both together are worth. */
export interface ToothCount {
  readonly count: number;
  readonly probability: number;
  readonly alternatives: readonly CountAlternative[];
  /** Position of tooth 0 on the evenly divided circle, rad. */
  readonly phaseRad: number;
  /** First and second order wander of the pitch, in pitches: a0 is in `phaseRad`. */
  readonly wander: readonly [number, number, number, number];
  readonly marks: readonly ToothMark[];
  /** Spread of the teeth about their places, in pitches. */
  readonly scatter: number;
  /** Harmonic with the greatest amplitude. */
  readonly spectralCount: number;
  readonly seen: number;
  readonly pxPerTooth: number;
  /** Share of places that hold exactly one tooth, of those seen. */
  readonly filled: number;
}

export const fewestTeeth = 6;
/** Finer than this and the picture cannot hold a tooth and a space. */
const leastPxPerTooth = 2.6;
const mostTeeth = 400;

/**
 * Counts by spectrum and by single teeth, and believes neither alone: missing teeth and eccentric wheels fool the
 * first, noise fools the second.
 *
 * Every plausible count N is put to the same test: the single teeth are laid on a circle divided evenly by N, with
 * a small wander of first and second order for an eccentric or slanting wheel. Under the right N they fall on
 * their places; under a wrong one they run out of step somewhere round the turn.
 */
export function countTeeth(signal: RimSignal): ToothCount | undefined {
  const highest = Math.min(
    mostTeeth,
    Math.floor(signal.pxPerTurn / leastPxPerTooth),
    signal.value.length >> 3,
  );
  const smooth = withoutSlowWander(signal.value, signal.seen);
  const power = spectrumOf(smooth, signal.seen, highest);
  const peaks = peaksOf(power, fewestTeeth - 1, 6).filter((k) => k >= fewestTeeth);
  if (peaks.length === 0) return undefined;
  const strongest = peaks[0]!;
  const seen = signal.seen.reduce((a, b) => a + b, 0) / signal.seen.length;

  const trials = new Map<number, Trial>();
  for (const k of peaks) {
    if (power[k]! < 0.04 * power[strongest]!) continue;
    const marks = findToothMarks(smooth, signal.seen, signal.value.length / k);
    if (marks.length < 4) continue;
    for (const n of candidatesNear(k, marks.length)) {
      if (n < fewestTeeth || n > highest) continue;
      const trial = tryCount(n, marks, signal.seen);
      if (trial !== undefined && trial.score > (trials.get(n)?.score ?? -Infinity)) trials.set(n, trial);
    }
  }
  const ranked = [...trials.values()].sort((p, q) => q.score - p.score);
  const best = ranked[0];
  if (best === undefined) return undefined;
  const inStep = ranked.map((trial) => [trial.n, powerInStep(trial, smooth, signal.seen)] as const);
  const spectral = inStep.reduce((p, q) => (q[1] > p[1] ? q : p))[0];
  const isWhole = (): boolean => isUnbroken(smooth, signal.seen, best.n, seen);
  const count = judge(best, ranked, { strongest, inStep: spectral, isWhole }, seen, signal.pxPerTurn);
  if (!signal.coarse || count.probability >= trustInCoarse || signal.pxPerTurn > coarsePx * strongest)
    return count;
  return isCoarsePattern(smooth, signal.seen, power, strongest)
    ? byPattern(count, strongest, smooth, signal)
    : count;
}

/** A pattern that runs on round the turn, of teeth that are not seen one by one. */
const trustInCoarse = 0.97;
/**
 * The same by colour, of which pictures store every second pixel: what waves there and shows no teeth are pins, or
 * light.
 */
const coarsePx = 12;
const teethSmoothed = 4;

function byPattern(count: ToothCount, n: number, smooth: Float64Array, signal: RimSignal): ToothCount {
  const { phase, wander } = placesOfPattern(smooth, signal.seen, n, teethSmoothed);
  const others = [{ count: count.count, probability: count.probability }, ...count.alternatives].filter(
    (a) => a.count !== n,
  );
  const sum = others.reduce((p, a) => p + a.probability, 0);
  return {
    ...count,
    count: n,
    probability: trustInCoarse,
    alternatives: others.slice(0, 3).map((a) => ({
      count: a.count,
      probability: ((1 - trustInCoarse) * a.probability) / Math.max(sum, 1e-9),
    })),
    phaseRad: (2 * Math.PI * phase) / n,
    wander,
    pxPerTooth: signal.pxPerTurn / n,
  };
}

const leastSeenForPhase = 0.97;
/** Of its median, and of the noise: measured on rendered photographs with fine, soft and damaged teeth. */
const leastPattern = 0.25;
const leastClearness = 4;
const trustInPhase = 0.985;
/** From so many pixels a tooth on, teeth that cannot be told one by one are none. */
const finePx = 10;

/** Counted by phase, too, over short and long stretches, the same number of teeth goes by. */
function isUnbroken(value: Float64Array, seen: Uint8Array, n: number, seenShare: number): boolean {
  if (seenShare < leastSeenForPhase) return false;
  const middle = windingNear(value, seen, n, 2);
  if (middle.count !== n || middle.weakest < leastPattern || middle.clearness < leastClearness) return false;
  return [1, 4].every((teeth) => turnsNear(value, seen, n, teeth) === n);
}

const candidatesNear = (k: number, marks: number): Set<number> => {
  const set = new Set<number>();
  for (let d = -3; d <= 3; d++) {
    set.add(k + d);
    set.add(marks + d);
  }
  return set;
};

interface Trial {
  readonly n: number;
  readonly score: number;
  readonly scatter: number;
  readonly phase: number;
  readonly wander: [number, number, number, number];
  readonly marks: readonly ToothMark[];
  readonly doubled: number;
  readonly empty: number;
}

/** Wander allowed to first and second order, in pitches: the centre is already known to a fraction of a tooth. */
const wanderPrior = [0.25, 0.25, 0.12, 0.12];
const strayShare = 0.03;

function tryCount(n: number, marks: readonly ToothMark[], seen: Uint8Array): Trial | undefined {
  const k = marks.length;
  let re = 0;
  let im = 0;
  for (const m of marks) {
    re += Math.cos(n * m.centreRad);
    im += Math.sin(n * m.centreRad);
  }
  let phase = Math.atan2(im, re) / (2 * Math.PI);
  let wander: [number, number, number, number] = [0, 0, 0, 0];
  const off = new Float64Array(k);
  const a = new Float64Array(5 * (k + 4));
  const b = new Float64Array(k + 4);
  const weights = new Float64Array(k + 4);
  let scatter = 0.2;
  for (let round = 0; round < 4; round++) {
    for (let i = 0; i < k; i++) {
      const p = (n * marks[i]!.centreRad) / (2 * Math.PI) - phase - wanderAt(wander, marks[i]!.centreRad);
      off[i] = p - Math.round(p);
    }
    scatter = Math.min(0.3, Math.max(0.012, 1.4826 * medianAbs(off)));
    if (round === 3) break;
    for (let i = 0; i < k; i++) {
      const t = marks[i]!.centreRad;
      a.set([1, Math.cos(t), Math.sin(t), Math.cos(2 * t), Math.sin(2 * t)], 5 * i);
      b[i] = off[i]! + wanderAt(wander, t);
      const q = off[i]! / (4 * scatter);
      weights[i] = Math.abs(q) < 1 ? (1 - q * q) ** 2 / (scatter * scatter) + 1e-6 : 1e-6;
    }
    for (let j = 0; j < 4; j++) {
      a.fill(0, 5 * (k + j), 5 * (k + j) + 5);
      a[5 * (k + j) + 1 + j] = 1;
      b[k + j] = 0;
      weights[k + j] = 1 / wanderPrior[j]! ** 2;
    }
    const fit = solveLinearLeastSquares(a, b, 5, weights);
    if (!fit.ok) return undefined;
    const x = fit.value.params;
    phase += x[0]!;
    wander = [x[1]!, x[2]!, x[3]!, x[4]!];
  }
  let score = 0;
  for (const j of [0, 1, 2, 3]) score -= 0.5 * (wander[j]! / wanderPrior[j]!) ** 2;
  const places = new Int32Array(n);
  for (let i = 0; i < k; i++) {
    const z = off[i]! / scatter;
    score += Math.log(
      ((1 - strayShare) * Math.exp(-0.5 * z * z)) / (scatter * Math.sqrt(2 * Math.PI)) + strayShare,
    );
    const t = marks[i]!.centreRad;
    const place = Math.round((n * t) / (2 * Math.PI) - phase - wanderAt(wander, t));
    places[placeInTurn(place, n)]!++;
  }
  let doubled = 0;
  let empty = 0;
  for (let p = 0; p < n; p++) {
    if (places[p]! > 1) doubled += places[p]! - 1;
    if (places[p] === 0 && seenAt(seen, (p + phase) / n)) empty++;
  }
  score -= 4 * doubled + 2 * empty;
  return { n, score, scatter, phase, wander, marks, doubled, empty };
}

export const wanderAt = (w: readonly [number, number, number, number], t: number): number =>
  w[0] * Math.cos(t) + w[1] * Math.sin(t) + w[2] * Math.cos(2 * t) + w[3] * Math.sin(2 * t);

/**
 * Power of the whole signal at a trial's count, each place turned back by the trial's own wander: the plain spectrum
 * of a wheel that is seen off its centre, or in part, smears over the neighbouring counts.
 */
function powerInStep({ n, wander }: Trial, value: Float64Array, seen: Uint8Array): number {
  let re = 0;
  let im = 0;
  const { cos, sin } = turnTable(value.length);
  for (let i = 0, step = 0; i < value.length; i++) {
    if (seen[i]) {
      const c = cos[i]!;
      const s = sin[i]!;
      const back =
        -2 * Math.PI * (wander[0] * c + wander[1] * s + wander[2] * (c * c - s * s) + wander[3] * 2 * c * s);
      const backCos = Math.cos(back);
      const backSin = Math.sin(back);
      re += value[i]! * (cos[step]! * backCos - sin[step]! * backSin);
      im += value[i]! * (sin[step]! * backCos + cos[step]! * backSin);
    }
    step += n;
    if (step >= value.length) step -= value.length;
  }
  return re * re + im * im;
}

const seenAt = (seen: Uint8Array, turn: number): boolean => {
  const i = Math.round((turn - Math.floor(turn)) * seen.length) % seen.length;
  return seen[i] === 1;
};

/**
 * How much of the turn may be covered before that alone makes a count doubtful. Where all teeth that are seen stand on
 * their places, those that are not have no room to be one more or less: the trials weigh that themselves.
 */
const leastSeenOfEven = 0.75;
const leastSeenOfUneven = 0.9;
/** Teeth of an even wheel stand on their places to a hundredth of a pitch. */
export const evenScatter = 0.018;
const evenFilled = 0.95;

/**
 * Share of the places from which on empty ones say nothing against a count. Teeth that stand exactly on more than two
 * thirds of their places stand on no coarser division: broken ones leave gaps, and no doubt of what lies between.
 */
const leastFilled = { even: 0.75, uneven: 0.85 };
/** Pitch from which on a tooth is plain to see, px. */
const plainPx = 8;
/** Fewer may be the corners of a cam, which fall on some even division or other. */
const manyMarks = 20;

/** Errors of neighbouring teeth go together, so the scores are not taken at their face value. */
const temper = 0.25;

function judge(
  best: Trial,
  ranked: readonly Trial[],
  spectral: { readonly strongest: number; readonly inStep: number; readonly isWhole: () => boolean },
  seen: number,
  pxPerTurn: number,
): ToothCount {
  const n = best.n;
  const pxPerTooth = pxPerTurn / n;
  const shares = ranked.map((t) => Math.exp(temper * (t.score - best.score)));
  const total = shares.reduce((p, q) => p + q, 0);
  const filled =
    (best.marks.length - best.doubled) / Math.max(1, best.marks.length - best.doubled + best.empty);
  let trust = 0.999;
  if (spectral.inStep !== n) trust *= 0.55;
  else if (spectral.strongest !== n) trust *= 0.98;
  if (best.doubled > 0) trust *= Math.max(0.3, 1 - 6 * (best.doubled / n));
  // Much of the turn unseen, every empty place, and scatter beyond what the pixels explain is a way to be
  // wrong: on a thick slanting wheel the outline changes from its upper to its lower edge, and may gain a tooth.
  const leastSeen = best.scatter <= evenScatter && filled >= evenFilled ? leastSeenOfEven : leastSeenOfUneven;
  trust *= 1 - Math.min(0.7, Math.max(0, leastSeen - seen) * 1.2);
  trust *= 1 - Math.min(0.7, Math.max(0, best.scatter - (0.03 + 0.12 / pxPerTooth)) * 12);
  const isPlain = pxPerTooth >= plainPx && best.marks.length >= manyMarks;
  const isEven = isPlain && best.scatter <= evenScatter && best.doubled === 0;
  trust *= 1 - Math.min(0.6, Math.max(0, leastFilled[isEven ? "even" : "uneven"] - filled) * 2);
  trust *= pxPerTooth >= 4 ? 1 : Math.max(0.3, 1 - (4 - pxPerTooth) * 0.5);
  // Teeth too fine to be seen one by one may be missed or doubted where the pattern as a whole runs on without a break.
  if (pxPerTooth < finePx && trust < trustInPhase && spectral.inStep === n && spectral.isWhole())
    trust = trustInPhase;
  const probability = (trust * shares[0]!) / total;
  const others = ranked.slice(1, 4).map((t, i) => ({ count: t.n, share: shares[i + 1]! + 1e-3 }));
  const rest = others.reduce((p, q) => p + q.share, 0);
  const alternatives = others
    .map((o) => ({ count: o.count, probability: ((1 - probability) * 0.9 * o.share) / rest }))
    .filter((o) => o.probability > 1e-4);
  return {
    count: n,
    probability,
    alternatives,
    phaseRad: (2 * Math.PI * best.phase) / n,
    wander: best.wander,
    marks: best.marks,
    scatter: best.scatter,
    spectralCount: spectral.strongest,
    seen,
    pxPerTooth,
    filled,
  };
}

/** Takes away what changes over a sixth of a turn or more: uneven light, an eccentric band. */
function withoutSlowWander(value: Float64Array, seen: Uint8Array): Float64Array {
  const n = value.length;
  const half = Math.round(n / 12);
  const out = new Float64Array(n);
  let sum = 0;
  let count = 0;
  for (let i = -half; i <= half; i++) {
    const j = (i + n) % n;
    sum += seen[j] ? value[j]! : 0;
    count += seen[j]!;
  }
  for (let i = 0; i < n; i++) {
    out[i] = value[i]! - (count > 0 ? sum / count : 0);
    const add = (i + half + 1) % n;
    const drop = (i - half + n) % n;
    sum += (seen[add] ? value[add]! : 0) - (seen[drop] ? value[drop]! : 0);
    count += seen[add]! - seen[drop]!;
  }
  return out;
}

const medianAbs = (v: Float64Array): number => {
  const s = Float64Array.from(v, Math.abs).sort();
  return s.length === 0 ? 0 : s[s.length >> 1]!;
};
