import { failed, ok, type Outcome } from "../problem/index.js";
import { decomposeScaled, inverseNormal } from "./scaled-decomposition.js";

export interface LinearFit {
  readonly params: Float64Array;
  /** (Aᵀ W A)⁻¹, n x n row-major: the covariance if the weights are 1/u². */
  readonly covariance: Float64Array;
  /** Weighted sum of squared residuals. */
  readonly sumOfSquares: number;
}

/**
 * Linear least squares: minimises sum of w_i (a_i x - b_i)². Householder QR; columns are scaled first.
 *
 * @param a m x n, row-major.
 * @param b length m.
 * @param weights length m, not negative; 1/u² of each observation, default 1.
 * @returns parameters and covariance; or problem "too-few-points" (fewer observations than unknowns, or
 *   observations that leave some combination of the unknowns open).
 * @throws RangeError if lengths disagree, or a weight is negative or not finite.
 */
export function solveLinearLeastSquares(
  a: Float64Array,
  b: Float64Array,
  n: number,
  weights?: Float64Array,
): Outcome<LinearFit> {
  const m = b.length;
  if (!(n >= 1) || a.length !== m * n) {
    throw new RangeError(`matrix: expected ${m} x ${n} = ${m * n} elements, received ${a.length}`);
  }
  if (weights !== undefined && weights.length !== m) {
    throw new RangeError(`weights: expected ${m}, received ${weights.length}`);
  }
  const columns = new Float64Array(m * n);
  const rhs = new Float64Array(m);
  let used = 0;
  for (let i = 0; i < m; i++) {
    const weight = weights === undefined ? 1 : weights[i]!;
    if (!(weight >= 0 && weight < Infinity)) {
      throw new RangeError(`weight ${i}: expected 0 or more, received ${weight}`);
    }
    if (weight > 0) used++;
    const root = Math.sqrt(weight);
    for (let j = 0; j < n; j++) columns[j * m + i] = root * a[i * n + j]!;
    rhs[i] = root * b[i]!;
  }
  if (used < n) {
    return failed(
      "too-few-points",
      `expected ${n} or more observations, received ${used}`,
      "take more points, or ask for fewer unknowns",
    );
  }
  const decomposed = decomposeScaled(columns, m, n, rhs);
  if (decomposed.rank < n) {
    return failed(
      "too-few-points",
      `the ${m} observations determine only ${decomposed.rank} of ${n} unknowns`,
      "spread the points further, or ask for fewer unknowns",
    );
  }
  const { size, svd } = decomposed;
  const params = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    let projected = 0;
    for (let i = 0; i < n; i++) projected += svd.u[k * n + i]! * rhs[i]!;
    projected /= svd.sigma[k]!;
    for (let i = 0; i < n; i++) params[i]! += (svd.v[k * n + i]! * projected) / size[i]!;
  }
  let sumOfSquares = 0;
  for (let i = n; i < m; i++) sumOfSquares += rhs[i]! ** 2;
  return ok({ params, covariance: inverseNormal(decomposed), sumOfSquares });
}
