import { failed, ok, type Outcome } from "../problem/index.js";
import { checkPoints } from "./check-points.js";
import { approachCircle } from "./approach-circle.js";
import { isFlat, solveCircle, tooShort, type CircleFit } from "./fit-circle.js";
import { guessCircle, type Circle } from "./guess-circle.js";
import { medianInPlace, robustScale } from "./robust-scale.js";

export interface RobustCircleFit extends CircleFit {
  /** Tukey weight of each point, 0 (does not belong) to 1. */
  readonly weights: Float64Array;
  /** Robust standard deviation of the radial residuals, unit of the points. */
  readonly scale: number;
}

export interface FitCircleRobustOptions {
  /** Standard uncertainty of a coordinate, unit of the points, and the least scale; default: from residuals. */
  readonly uPointMm?: number;
  /** Residual, in robust standard deviations, beyond which a point counts nothing; default 4.685. */
  readonly cutoff?: number;
}

/** 95 % efficient for normal residuals (Beaton and Tukey). */
const CUTOFF = 4.685;

/**
 * Circle through the points that belong to it: Tukey's biweight by iterated reweighting, scale from the median
 * absolute deviation. Up to nearly half of the points may lie elsewhere (a broken tip, a burr).
 *
 * @param xyMm n points x0, y0, x1, y1 ... (length 2n), mm (or any one unit).
 * @returns as fitCircle, with the weights; problems as fitCircle.
 */
export function fitCircleRobust(
  xyMm: Float64Array,
  options: FitCircleRobustOptions = {},
): Outcome<RobustCircleFit> {
  const { uPointMm, cutoff = CUTOFF } = options;
  const n = checkPoints(xyMm);
  if (!(cutoff >= 1)) throw new RangeError(`cutoff: expected 1 or more, received ${cutoff}`);
  const first = guessCircle(xyMm);
  if (!first.ok) return first;
  let circle = bestOfTriples(xyMm, first.value);
  const residuals = new Float64Array(n);
  const weights = new Float64Array(n);
  let scale = 0;
  for (let i = 0; i < 100; i++) {
    writeResiduals(xyMm, circle, residuals);
    if (i < SCALE_ROUNDS) scale = Math.max(scaleOf(residuals, scale), uPointMm ?? 0, 1e-12 * circle.radius);
    const belonging = writeWeights(residuals, cutoff * scale, weights);
    const fewest = uPointMm === undefined ? 4 : 3;
    if (belonging < fewest) {
      return failed(
        "too-few-points",
        `circle: expected ${fewest} or more points on one circle, found ${belonging} of ${n}`,
        "take more points",
      );
    }
    const solved = approachCircle(circle, xyMm, weights);
    if (!solved.ok) return solved;
    const next = solved.value;
    const moved = Math.hypot(next.x - circle.x, next.y - circle.y, next.radius - circle.radius);
    circle = next;
    if (i >= 4 && moved <= 1e-6 * scale) break;
  }
  const variance = varianceFactor(residuals, weights, cutoff * scale, uPointMm);
  const solved = solveCircle(circle, xyMm, weights);
  if (!solved.ok) return solved;
  const { x, y, radius, inverseNormal, rms } = solved.value;
  const covariance = inverseNormal.map((c) => c * variance);
  if (isFlat(radius, covariance)) return tooShort(n);
  return ok({ x, y, radius, covariance, rms, weights, scale });
}

function writeResiduals(xyMm: Float64Array, circle: Circle, residuals: Float64Array): void {
  for (let k = 0; k < residuals.length; k++) residuals[k] = radialResidual(xyMm, k, circle);
}

/** Tukey's weights; returns how many are not 0. */
function writeWeights(residuals: Float64Array, limit: number, weights: Float64Array): number {
  let belonging = 0;
  for (let k = 0; k < residuals.length; k++) {
    const t = residuals[k]! / limit;
    const w = Math.abs(t) < 1 ? (1 - t * t) ** 2 : 0;
    weights[k] = w;
    if (w > 0) belonging++;
  }
  return belonging;
}

/** A scale that went on changing could keep the iteration from settling. */
const SCALE_ROUNDS = 10;

/** Robust scale of the residuals; of those near by only, once a first scale tells which these are. */
function scaleOf(residuals: Float64Array, previous: number): number {
  const near = previous > 0 ? within(residuals, CUTOFF * previous) : residuals;
  // With many outliers the first scale is up to four times too large; without, this cuts off nothing.
  return robustScale(near.length > residuals.length / 2 ? near : residuals);
}

function within(residuals: Float64Array, limit: number): Float64Array {
  const near = new Float64Array(residuals.length);
  let n = 0;
  for (let k = 0; k < residuals.length; k++) if (Math.abs(residuals[k]!) < limit) near[n++] = residuals[k]!;
  return near.subarray(0, n);
}

function radialResidual(xy: Float64Array, k: number, circle: Circle): number {
  const dx = xy[2 * k]! - circle.x;
  const dy = xy[2 * k + 1]! - circle.y;
  return Math.sqrt(dx * dx + dy * dy) - circle.radius;
}

/**
 * Factor from (Jᵀ W J)⁻¹ to the covariance of a biweight estimate, for residuals of one distribution:
 * mean(psi²) mean(w) / mean(psi')². P. J. Huber, Robust statistics, 1981, ch. 7 (from memory).
 */
function varianceFactor(
  residuals: Float64Array,
  weights: Float64Array,
  limit: number,
  uPointMm: number | undefined,
): number {
  let inside = 0;
  let psi2 = 0;
  let slope = 0;
  let weight = 0;
  for (let k = 0; k < residuals.length; k++) {
    const w = weights[k]!;
    if (w === 0) continue;
    const t2 = (residuals[k]! / limit) ** 2;
    inside++;
    psi2 += (w * residuals[k]!) ** 2;
    slope += (1 - t2) * (1 - 5 * t2);
    weight += w;
  }
  if (uPointMm !== undefined) {
    // The biweight's efficiency at the normal distribution is 95 %.
    return (uPointMm ** 2 * (weight / inside)) / 0.95;
  }
  const freedom = Math.max(inside - 3, 1) / inside;
  return (psi2 * weight) / (slope * slope * freedom);
}

/**
 * Start that outliers do not spoil: of the given circle and many through three points, the one with the least
 * median residual. Triples are a third of the sequence apart or random (fixed seed), so the result is repeatable.
 */
function bestOfTriples(xy: Float64Array, guess: Circle): Circle {
  const n = xy.length / 2;
  const sampled = Math.min(n, 200);
  const absolute = new Float64Array(sampled);
  let best = guess;
  let least = Infinity;
  least = lesserMedian(xy, guess, absolute, least) ?? Infinity;
  let state = 0x9e3779b9;
  const next = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor((state / 2 ** 32) * n);
  };
  const triple = new Float64Array(6);
  for (let k = 0; k < 60; k++) {
    const i = next();
    const chosen =
      k % 2 === 0 ? [i, (i + Math.floor(n / 3)) % n, (i + Math.floor((2 * n) / 3)) % n] : [i, next(), next()];
    for (let j = 0; j < 3; j++) {
      triple[2 * j] = xy[2 * chosen[j]!]!;
      triple[2 * j + 1] = xy[2 * chosen[j]! + 1]!;
    }
    const circle = guessCircle(triple);
    if (!circle.ok) continue;
    const median = lesserMedian(xy, circle.value, absolute, least);
    if (median !== undefined) {
      least = median;
      best = circle.value;
    }
  }
  return best;
}

/**
 * Median distance from the circle of as many points as `scratch` holds, evenly taken; undefined where it is not below
 * `least`: as soon as enough of them are seen to lie above that.
 */
function lesserMedian(
  xy: Float64Array,
  circle: Circle,
  scratch: Float64Array,
  least: number,
): number | undefined {
  const n = xy.length / 2;
  const sampled = scratch.length;
  let above = 0;
  for (let i = 0; i < sampled; i++) {
    const off = Math.abs(radialResidual(xy, Math.floor((i * n) / sampled), circle));
    if (off >= least && ++above > sampled / 2) return undefined;
    scratch[i] = off;
  }
  const median = medianInPlace(scratch);
  return median < least ? median : undefined;
}
