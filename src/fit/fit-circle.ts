import { failed, ok, type Outcome } from "../problem/index.js";
import { checkPoints, pointSpread } from "./check-points.js";
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
 *   three points show no scatter), "points-on-a-line", "no-convergence".
 * @throws RangeError if the length is odd or a coordinate is not finite.
 * Source: ISO 12181-1 (LSCI, from memory); Levenberg-Marquardt from a Hyper fit.
 */
export function fitCircle(xyMm: Float64Array, options: FitCircleOptions = {}): Outcome<CircleFit> {
  const guess = guessCircle(xyMm, options);
  return guess.ok ? fitCircleFrom(guess.value, xyMm, options) : guess;
}

/** As fitCircle, from a start of the caller's. */
export function fitCircleFrom(
  start: Circle,
  xyMm: Float64Array,
  { weights, uPointMm }: FitCircleOptions = {},
): Outcome<CircleFit> {
  const n = checkPoints(xyMm, weights);
  const spread = pointSpread(xyMm, weights);
  const used = weights ? weights.reduce((count, w) => count + (w > 0 ? 1 : 0), 0) : n;
  if (used < 3 || (used === 3 && uPointMm === undefined)) {
    return failed(
      "too-few-points",
      `circle: expected ${uPointMm === undefined ? "4 or more points to see their scatter" : "3 or more points"}, received ${used}`,
      "take more points, or state the uncertainty of a point",
    );
  }

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
    residuals: (params, out) => {
      const cx = params[0]!;
      const cy = params[1]!;
      const radius = params[2]!;
      for (let i = 0; i < n; i++) {
        const dx = points[2 * i]! - cx;
        const dy = points[2 * i + 1]! - cy;
        // Not Math.hypot: ten times slower, and these numbers are near 1.
        out[i] = roots[i]! * (Math.sqrt(dx * dx + dy * dy) - radius);
      }
    },
    jacobian: (params, out) => {
      const cx = params[0]!;
      const cy = params[1]!;
      for (let i = 0; i < n; i++) {
        const dx = points[2 * i]! - cx;
        const dy = points[2 * i + 1]! - cy;
        // A point on the centre pulls in no direction.
        const factor = -roots[i]! / (Math.sqrt(dx * dx + dy * dy) || Infinity);
        out[3 * i] = factor * dx;
        out[3 * i + 1] = factor * dy;
        out[3 * i + 2] = -roots[i]!;
      }
    },
  });
  if (!solved.ok) return solved;
  const { params, covariance, sumOfSquares } = solved.value;
  const variance = uPointMm === undefined ? (sumOfSquares / (used - 3)) * spread.size ** 2 : uPointMm ** 2;
  return ok({
    x: spread.x + spread.size * params[0]!,
    y: spread.y + spread.size * params[1]!,
    radius: spread.size * params[2]!,
    covariance: covariance.map((c) => c * variance),
    rms: spread.size * Math.sqrt(sumOfSquares / total),
  });
}
