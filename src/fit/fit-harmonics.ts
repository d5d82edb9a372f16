import { failed, ok, type Outcome } from "../problem/index.js";
import { solveLinearLeastSquares } from "./solve-linear-least-squares.js";

export interface Harmonic {
  /** Waves per turn. */
  readonly order: number;
  readonly cosine: number;
  readonly sine: number;
}

export interface HarmonicsFit {
  readonly mean: number;
  /** As asked for, in the same order. */
  readonly harmonics: readonly Harmonic[];
  /** Row-major over mean, cosine and sine of the first order, of the second ...; size 1 + 2 x orders. */
  readonly covariance: Float64Array;
  /** value - mean - sum of harmonics, at each point. */
  readonly residuals: Float64Array;
  /** Root mean square (weighted) of the residuals. */
  readonly rms: number;
}

export interface FitHarmonicsOptions {
  /** Standard uncertainty of a value of weight 1; default: from residuals. */
  readonly uValue?: number;
}

/**
 * Fits value = mean + sum over orders k of cosine_k cos(k angle) + sine_k sin(k angle). Angles need not be regular.
 *
 * @param angleRad length n.
 * @param value length n, any one unit; results have the same.
 * @param orders distinct, 1 or more each.
 * @param weights relative weight of each value, (u_0/u_i)²; default 1.
 * @returns coefficients with covariance; or problem "too-few-points" (fewer values than coefficients, angles that
 *   cannot tell the orders apart, or no value to spare without `uValue`).
 * @throws RangeError if lengths disagree or an order is not a whole number above 0 or occurs twice.
 */
export function fitHarmonics(
  angleRad: Float64Array,
  value: Float64Array,
  orders: readonly number[],
  weights?: Float64Array,
  { uValue }: FitHarmonicsOptions = {},
): Outcome<HarmonicsFit> {
  const n = value.length;
  if (angleRad.length !== n) throw new RangeError(`angles: expected ${n}, received ${angleRad.length}`);
  if (orders.some((k) => !Number.isInteger(k) || k < 1) || new Set(orders).size !== orders.length) {
    throw new RangeError(`orders: expected distinct whole numbers above 0, received ${orders.join(", ")}`);
  }
  const size = 1 + 2 * orders.length;
  const matrix = new Float64Array(n * size);
  for (let i = 0; i < n; i++) {
    matrix[i * size] = 1;
    orders.forEach((k, j) => {
      matrix[i * size + 2 * j + 1] = Math.cos(k * angleRad[i]!);
      matrix[i * size + 2 * j + 2] = Math.sin(k * angleRad[i]!);
    });
  }
  const solved = solveLinearLeastSquares(matrix, value, size, weights);
  if (!solved.ok) return solved;
  const { params, covariance, sumOfSquares } = solved.value;
  const used = weights ? weights.reduce((count, w) => count + (w > 0 ? 1 : 0), 0) : n;
  if (uValue === undefined && used === size) {
    return failed(
      "too-few-points",
      `harmonics: ${size} coefficients from ${used} values show no scatter`,
      "take more points, or state the uncertainty of a value",
    );
  }
  const residuals = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let model = 0;
    for (let j = 0; j < size; j++) model += matrix[i * size + j]! * params[j]!;
    residuals[i] = value[i]! - model;
  }
  const total = weights ? weights.reduce((sum, w) => sum + w, 0) : n;
  const variance = uValue === undefined ? sumOfSquares / (used - size) : uValue ** 2;
  return ok({
    mean: params[0]!,
    harmonics: orders.map((order, j) => ({
      order,
      cosine: params[2 * j + 1]!,
      sine: params[2 * j + 2]!,
    })),
    covariance: covariance.map((c) => c * variance),
    residuals,
    rms: Math.sqrt(sumOfSquares / total),
  });
}
