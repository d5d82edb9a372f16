import { failed, ok, type Outcome } from "../problem/index.js";
import { NumericDifferences, type Differences } from "./differences.js";
import { reduceToTriangle } from "./householder.js";
import { copyTriangle, decomposeScaled, inverseNormal } from "./scaled-decomposition.js";
import { decomposeInPlace, newSingularValues } from "./singular-values.js";
import { stepWithin } from "./trust-region-step.js";

export interface LeastSquaresProblem {
  /** Writes the residuals (observation minus model, each divided by its u) at `params` into `out`. */
  residuals(params: Float64Array, out: Float64Array): void;
  readonly residualCount: number;
  readonly start: ArrayLike<number>;
  /** Writes d residual_i / d param_j, row-major m x n; default: numeric differences. */
  readonly jacobian?: (params: Float64Array, out: Float64Array) => void;
  /** Typical size of each parameter, for numeric steps and for "has it moved?"; default: from `start`. */
  readonly scale?: ArrayLike<number>;
  /** A start outside is moved to the nearest bound. Use -Infinity and Infinity for an open side. */
  readonly bounds?: { readonly lower?: ArrayLike<number>; readonly upper?: ArrayLike<number> };
}

export interface LeastSquaresOptions {
  /** Trial steps; default 500. */
  readonly maxIterations?: number;
  /** Stops when the next step would move the model by less than this times the residuals (norms); default 1e-8. */
  readonly tolerance?: number;
  /**
   * Out of steps, the best that was reached is the answer; default false: it is "no-convergence". For models with
   * corners, whose last digits mean nothing.
   */
  readonly settleAtLimit?: boolean;
  /**
   * Numeric derivatives stay forward differences, good to seven digits; default false: the end is found by central
   * ones. For tolerances that need no more.
   */
  readonly forwardOnly?: boolean;
}

export interface LeastSquaresFit {
  readonly params: Float64Array;
  /** (JᵀJ)⁻¹ at the solution, n x n row-major. */
  readonly covariance: Float64Array;
  readonly sumOfSquares: number;
  readonly residuals: Float64Array;
  /** Trial steps taken. */
  readonly iterations: number;
  /** Indices of parameters that ended on a bound; the covariance is then that without bounds. */
  readonly onBound: readonly number[];
}

/**
 * Nonlinear least squares: Levenberg-Marquardt as a trust region, with Marquardt's column scaling.
 * Residuals that are not finite reject a step, so a model may return NaN where it has no meaning.
 * Numeric derivatives are forward differences on the way and, unless told otherwise, central ones at the end.
 *
 * @returns the local minimum reached from `start`; or problem "too-few-points" (fewer residuals than parameters,
 *   or parameters that the residuals leave open) or "no-convergence".
 * @throws RangeError if lengths disagree or the start is not finite.
 * Source: J. J. Moré, The Levenberg-Marquardt algorithm: implementation and theory, 1978 (from memory).
 */
export function solveLeastSquares(
  problem: LeastSquaresProblem,
  options: LeastSquaresOptions = {},
): Outcome<LeastSquaresFit> {
  const m = problem.residualCount;
  const n = problem.start.length;
  const { maxIterations = 500, tolerance = 1e-8, settleAtLimit = false, forwardOnly = false } = options;
  const { lower, upper } = checkedBounds(problem, n);
  if (m < n) {
    return failed(
      "too-few-points",
      `expected ${n} or more residuals for ${n} parameters, received ${m}`,
      "take more points",
    );
  }

  let x = Float64Array.from(problem.start, (v, j) => Math.min(Math.max(v, lower[j]!), upper[j]!));
  const typical = Float64Array.from(problem.start, (v, j) =>
    // An exact or accidental zero says nothing about size.
    problem.scale ? Math.abs(problem.scale[j]!) : Math.abs(v) > 1e-12 ? 1e-3 * Math.abs(v) : 1,
  );
  let f = new Float64Array(m);
  problem.residuals(x, f);
  let sum = sumOfSquaresOf(f);
  if (!Number.isFinite(sum)) return noConvergence("the residuals at the start are not finite");

  let xTrial = new Float64Array(n);
  let fTrial = new Float64Array(m);
  const columns = new Float64Array(m * n);
  const jacobian = problem.jacobian
    ? new RowMajorJacobian(problem.jacobian, m, n)
    : new NumericDifferences({ problem, m, n, typical, lower, upper, forwardOnly });
  const reduced = new Float64Array(m);
  const svd = newSingularValues(n);
  const size = new Float64Array(n); // Marquardt's D: largest column length so far
  const gradient = new Float64Array(n);
  const step = new Float64Array(n);
  const held = new Uint8Array(n);
  let radius = 0;
  let damping = 0;
  let iterations = 0;
  let lastStepNorm = Infinity;
  // Coarse derivatives need no fine end.
  let goal = problem.jacobian ? tolerance ** 2 : Math.max(tolerance ** 2, 1e-10);

  for (;;) {
    if (!jacobian.write(x, f, columns)) return noConvergence("the derivatives are not finite");
    for (let j = 0; j < n; j++) {
      const norm = Math.sqrt(dotOf(columns, j * m, columns, j * m, m));
      const slope = dotOf(columns, j * m, f, 0, m);
      if (!Number.isFinite(norm)) return noConvergence("the derivatives are not finite");
      size[j] = Math.max(size[j]!, norm);
      gradient[j] = slope;
      // A parameter on its bound that would leave it is held for this step.
      held[j] = (x[j]! <= lower[j]! && slope > 0) || (x[j]! >= upper[j]! && slope < 0) ? 1 : 0;
    }
    const steepest = largestCosine(columns, gradient, held, m, n, Math.sqrt(sum));
    if (steepest <= 2e-16) {
      if (!jacobian.refine()) break;
      toEnd();
      continue;
    }
    // In scaled variables q = D p the trust region is a ball.
    for (let j = 0; j < n; j++) {
      scale(columns, j * m, m, held[j] ? 0 : 1 / (size[j]! || 1));
    }
    reduced.set(f);
    reduceToTriangle(columns, m, n, reduced);
    copyTriangle(columns, m, n, svd.u);
    decomposeInPlace(svd, n);

    let xNorm = 0;
    for (let j = 0; j < n; j++) {
      xNorm = Math.hypot(xNorm, size[j]! * Math.max(Math.abs(x[j]!), problem.scale ? typical[j]! : 0));
    }
    if (radius === 0) radius = xNorm || 1;

    let accepted = false;
    let finished = false;
    while (!accepted && !finished) {
      if (iterations >= maxIterations) {
        if (settleAtLimit) return finish();
        return noConvergence(`no minimum within ${maxIterations} steps (sum of squares ${sum})`);
      }
      iterations++;
      damping = stepWithin(svd, reduced, n, radius, damping, step);
      let stepNorm = 0;
      for (let j = 0; j < n; j++) {
        stepNorm = Math.hypot(stepNorm, step[j]!);
        const moved = held[j] ? x[j]! : x[j]! + step[j]! / (size[j]! || 1);
        xTrial[j] = Math.min(Math.max(moved, lower[j]!), upper[j]!);
        step[j] = (xTrial[j]! - x[j]!) * (size[j]! || 1);
      }
      problem.residuals(xTrial, fTrial);
      const trialSum = sumOfSquaresOf(fTrial);

      // By the linear model, for the step as clipped by the bounds; all as shares of the sum of squares.
      const slope = slopeAlong(columns, reduced, step, m, n) / sum;
      const predicted = -slope - curvatureAlong(columns, step, m, n) / sum;
      const actual = trialSum < 100 * sum ? 1 - trialSum / sum : -1;
      // Below this, the difference of two sums is rounding and only the model can be believed.
      const blind = predicted <= 1e-13 && Math.abs(actual) <= 1e-12;
      const ratio = blind ? 1 : predicted > 0 ? actual / predicted : 0;
      if (!(ratio > 0.25)) {
        // Least point of the parabola through both sums with the known slope.
        const shrink = actual >= 0 ? 0.5 : Math.max(0.1, Math.min(0.5, slope / (2 * (slope + actual))));
        radius = shrink * Math.min(radius, 10 * stepNorm);
        damping /= shrink;
      } else if (damping === 0 || ratio >= 0.75) {
        radius = 2 * stepNorm;
        damping *= 0.5;
      }
      if (ratio >= 1e-4) {
        [x, xTrial] = [xTrial, x];
        [f, fTrial] = [fTrial, f];
        sum = trialSum;
        accepted = true;
      }
      finished =
        (predicted <= goal && ratio <= 2) ||
        (blind && stepNorm > 0.9 * lastStepNorm) ||
        stepNorm <= 1e-15 * xNorm ||
        radius <= 1e-15 * xNorm ||
        sum < 1e-300;
      lastStepNorm = stepNorm;
    }
    if (finished) {
      if (!jacobian.refine()) break;
      toEnd();
    }
  }
  return finish();

  /** From here on the derivatives are fine. */
  function toEnd(): void {
    goal = tolerance ** 2;
    radius = damping = 0;
    lastStepNorm = Infinity;
  }

  function finish(): Outcome<LeastSquaresFit> {
    if (!jacobian.write(x, f, columns)) return noConvergence("the derivatives are not finite");
    const decomposed = decomposeScaled(columns, m, n, reduced);
    if (decomposed.rank < n) {
      return failed(
        "too-few-points",
        `the ${m} residuals do not determine all ${n} parameters`,
        "take points that are spread further, or solve for fewer parameters",
      );
    }
    const covariance = inverseNormal(decomposed);
    const onBound: number[] = [];
    for (let j = 0; j < n; j++) if (x[j]! <= lower[j]! || x[j]! >= upper[j]!) onBound.push(j);
    return ok({ params: x, covariance, sumOfSquares: sum, residuals: f, iterations, onBound });
  }
}

const noConvergence = (text: string): Outcome<never> =>
  failed("no-convergence", text, "start closer to the solution, or remove points that do not belong");

function checkedBounds(
  problem: LeastSquaresProblem,
  n: number,
): { lower: Float64Array; upper: Float64Array } {
  const lower = Float64Array.from(problem.bounds?.lower ?? new Float64Array(n).fill(-Infinity));
  const upper = Float64Array.from(problem.bounds?.upper ?? new Float64Array(n).fill(Infinity));
  if (n === 0) throw new RangeError("start: expected one or more parameters, received none");
  if (lower.length !== n || upper.length !== n || (problem.scale && problem.scale.length !== n)) {
    throw new RangeError(`bounds and scale: expected ${n} elements each, as in start`);
  }
  for (let j = 0; j < n; j++) {
    if (!Number.isFinite(problem.start[j])) throw new RangeError(`start ${j}: not a finite number`);
    if (problem.scale && !(Math.abs(problem.scale[j]!) > 0))
      throw new RangeError(`scale ${j}: expected a size`);
    if (!(lower[j]! <= upper[j]!)) throw new RangeError(`bounds ${j}: lower is above upper`);
  }
  return { lower, upper };
}

class RowMajorJacobian implements Differences {
  readonly #jacobian: (params: Float64Array, out: Float64Array) => void;
  readonly #rows: Float64Array;

  constructor(
    jacobian: (params: Float64Array, out: Float64Array) => void,
    readonly m: number,
    readonly n: number,
  ) {
    this.#jacobian = jacobian;
    this.#rows = new Float64Array(m * n);
  }

  write(x: Float64Array, _f: Float64Array, columns: Float64Array): boolean {
    const { m, n } = this;
    const rows = this.#rows;
    this.#jacobian(x, rows);
    for (let i = 0; i < m; i++) for (let j = 0; j < n; j++) columns[j * m + i] = rows[i * n + j]!;
    return true;
  }

  refine(): boolean {
    return false;
  }
}

function dotOf(a: Float64Array, a0: number, b: Float64Array, b0: number, count: number): number {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += a[a0 + i]! * b[b0 + i]!;
  return sum;
}

function scale(a: Float64Array, from: number, count: number, by: number): void {
  for (let i = from; i < from + count; i++) a[i]! *= by;
}

function sumOfSquaresOf(f: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < f.length; i++) sum += f[i]! * f[i]!;
  return sum;
}

/** Largest cosine of the angle between the residuals and a column: 0 at a minimum. */
function largestCosine(
  columns: Float64Array,
  gradient: Float64Array,
  held: Uint8Array,
  m: number,
  n: number,
  norm: number,
): number {
  if (norm === 0) return 0;
  let largest = 0;
  for (let j = 0; j < n; j++) {
    if (held[j] || gradient[j] === 0) continue;
    const length = Math.sqrt(dotOf(columns, j * m, columns, j * m, m));
    largest = Math.max(largest, Math.abs(gradient[j]!) / length / norm);
  }
  return largest;
}

/** Derivative of ||f||² along p: 2 (J p)·f, from the triangle R (upper part of `columns`) and Qᵀ f. */
function slopeAlong(
  columns: Float64Array,
  reduced: Float64Array,
  step: Float64Array,
  m: number,
  n: number,
): number {
  let slope = 0;
  for (let i = 0; i < n; i++) {
    for (let j = i; j < n; j++) slope += 2 * columns[j * m + i]! * step[j]! * reduced[i]!;
  }
  return slope;
}

/** ||J p||², from the triangle R (upper part of `columns`). */
function curvatureAlong(columns: Float64Array, step: Float64Array, m: number, n: number): number {
  let sum = 0;
  for (let i = 0; i < n; i++) {
    let moved = 0;
    for (let j = i; j < n; j++) moved += columns[j * m + i]! * step[j]!;
    sum += moved * moved;
  }
  return sum;
}
