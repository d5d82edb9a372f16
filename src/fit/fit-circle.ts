import { failed, ok, type Outcome } from "../problem/index.js";
import { pointSpread } from "./check-points.js";
import { guessCircle, type Circle } from "./guess-circle.js";
import { solveLeastSquares } from "./solve-least-squares.js";

export interface CircleFit extends Circle {
  /** 3x3, row-major x, y, radius, in squared units of the points. */
  readonly covariance: Float64Array;
  /** Root mean square (weighted) of the radial residuals. */
  readonly rms: number;
}

export interface FitCircleOptions {
  /** Relative weight of each point, as (u_0/u_i)²; default 1. */
  readonly weights?: Float64Array;
  /** Standard uncertainty of a coordinate of a point of weight 1, unit of the points; default: from residuals. */
  readonly uPointMm?: number;
}

/**
 * Least-squares reference circle: minimises squared radial residuals (geometric).
 *
 * @param xyMm n points x0, y0, x1, y1 ... (length 2n), mm (or any one unit), on one plane.
 * @returns centre, radius, covariance; or problem "too-few-points" (n < 3, or n = 3 without `uPointMm`, since
 *   three points show no scatter), "points-on-a-line" (also an arc that is flat within its scatter), "no-convergence".
 * @throws RangeError if the length is odd or a coordinate is not finite.
 * Source: ISO 12181-1 (LSCI, from memory); Levenberg-Marquardt from a Hyper fit.
 */
export function fitCircle(xyMm: Float64Array, options: FitCircleOptions = {}): Outcome<CircleFit> {
  const { weights, uPointMm } = options;
  const guess = guessCircle(xyMm, options);
  if (!guess.ok) return guess;
  const used = weights ? weights.reduce((count, w) => count + (w > 0 ? 1 : 0), 0) : xyMm.length / 2;
  if (used === 3 && uPointMm === undefined) {
    return failed(
      "too-few-points",
      "circle: expected 4 or more points to see their scatter, received 3",
      "take more points, or state the uncertainty of a point",
    );
  }
  const solved = solveCircle(guess.value, xyMm, weights);
  if (!solved.ok) return solved;
  const { inverseNormal, rms, sumOfSquares, ...circle } = solved.value;
  const variance = uPointMm === undefined ? sumOfSquares / (used - 3) : uPointMm ** 2;
  const covariance = inverseNormal.map((c) => c * variance);
  return isFlat(circle.radius, covariance) ? tooShort(used) : ok({ ...circle, covariance, rms });
}

interface SolvedCircle extends Circle {
  /** (JᵀJ)⁻¹ of the weighted radial residuals, 3x3. */
  readonly inverseNormal: Float64Array;
  readonly sumOfSquares: number;
  readonly rms: number;
}

/** Geometric fit from a start; for points that guessCircle accepts. */
export function solveCircle(
  start: Circle,
  xyMm: Float64Array,
  weights?: Float64Array,
): Outcome<SolvedCircle> {
  const n = xyMm.length / 2;
  const spread = pointSpread(xyMm, weights);
  // Centred and scaled, so that points far from the origin lose no digits.
  const points = new Float64Array(2 * n);
  const roots = new Float64Array(n);
  let total = 0;
  for (let i = 0; i < n; i++) {
    points[2 * i] = (xyMm[2 * i]! - spread.x) / spread.size;
    points[2 * i + 1] = (xyMm[2 * i + 1]! - spread.y) / spread.size;
    const w = weights ? weights[i]! : 1;
    roots[i] = Math.sqrt(w);
    total += w;
  }
  const solved = solveLeastSquares({
    residualCount: n,
    start: [
      (start.x - spread.x) / spread.size,
      (start.y - spread.y) / spread.size,
      start.radius / spread.size,
    ],
    scale: [1, 1, 1],
    residuals: (params, out) => writeRadial(points, roots, params, out),
    jacobian: (params, out) => writeRadialSlopes(points, roots, params, out),
  });
  if (!solved.ok) return solved.problem.code === "too-few-points" ? tooShort(n) : solved;
  const { params, covariance, sumOfSquares } = solved.value;
  return ok({
    x: spread.x + spread.size * params[0]!,
    y: spread.y + spread.size * params[1]!,
    radius: spread.size * params[2]!,
    inverseNormal: covariance,
    sumOfSquares: sumOfSquares * spread.size ** 2,
    rms: spread.size * Math.sqrt(sumOfSquares / total),
  });
}

/** Distances of the points from the circle, each times the root of its weight. */
function writeRadial(
  points: Float64Array,
  roots: Float64Array,
  params: Float64Array,
  out: Float64Array,
): void {
  const cx = params[0]!;
  const cy = params[1]!;
  const radius = params[2]!;
  for (let i = 0; i < roots.length; i++) {
    const dx = points[2 * i]! - cx;
    const dy = points[2 * i + 1]! - cy;
    // Not Math.hypot: ten times slower, and these numbers are near 1.
    out[i] = roots[i]! * (Math.sqrt(dx * dx + dy * dy) - radius);
  }
}

function writeRadialSlopes(
  points: Float64Array,
  roots: Float64Array,
  params: Float64Array,
  out: Float64Array,
): void {
  const cx = params[0]!;
  const cy = params[1]!;
  for (let i = 0; i < roots.length; i++) {
    const dx = points[2 * i]! - cx;
    const dy = points[2 * i + 1]! - cy;
    // A point on the centre pulls in no direction.
    const factor = -roots[i]! / (Math.sqrt(dx * dx + dy * dy) || Infinity);
    out[3 * i] = factor * dx;
    out[3 * i + 1] = factor * dy;
    out[3 * i + 2] = -roots[i]!;
  }
}

/** Standard uncertainty of the radius, as a share of it, beyond which points count as a straight line. */
const MOST_U_OF_RADIUS = 0.3;

/** The radius of an arc that is flat within its scatter can be anything, and first-order u says nothing. */
export const isFlat = (radius: number, covariance: Float64Array): boolean =>
  Math.sqrt(covariance[8]!) > MOST_U_OF_RADIUS * radius;

export const tooShort = (count: number): Outcome<never> =>
  failed(
    "points-on-a-line",
    `the ${count} points lie on a straight line as far as their scatter shows`,
    "take points from a longer arc of the circle",
  );
