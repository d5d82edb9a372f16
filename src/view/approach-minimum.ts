import { choleskyFactor, choleskySolve } from "../fit/index.js";
import { sumOfSquares, type CornerSystem } from "./corner-system.js";
import { unknownCount } from "./mat-camera.js";

const n = unknownCount;

/**
 * A few damped Gauss-Newton steps on the normal equations: quick, and near enough between two changes of the weights.
 * The last word has solveLeastSquares.
 *
 * @param tolerance relative change of the sum of squares at which to stop.
 */
export function approachMinimum(system: CornerSystem, start: Float64Array, tolerance: number): Float64Array {
  const { residualCount: m } = system;
  let params = start;
  let f = new Float64Array(m);
  let trial = new Float64Array(m);
  const jacobian = new Float64Array(m * n);
  system.residuals(params, f);
  let sum = sumOfSquares(f);
  let damping = 1e-4;
  for (let iteration = 0; iteration < 15 && Number.isFinite(sum); iteration++) {
    system.jacobian(params, jacobian);
    const normal = new Float64Array(n * n);
    const right = new Float64Array(n);
    for (let i = 0; i < m; i++) addRow(jacobian, i * n, f[i]!, normal, right);
    let gained = 0;
    for (let attempt = 0; attempt < 6 && gained <= 0; attempt++) {
      const damped = normal.slice();
      for (let p = 0; p < n; p++) damped[p * (n + 1)]! *= 1 + damping;
      const factor = choleskyFactor(damped, n);
      if (!factor) return params;
      const step = right.slice();
      choleskySolve(factor, n, step);
      const moved = params.map((v, p) => v + step[p]!);
      system.residuals(moved, trial);
      const trialSum = sumOfSquares(trial);
      if (trialSum <= sum) {
        gained = sum - trialSum;
        params = moved;
        [f, trial] = [trial, f];
        sum = trialSum;
        damping = Math.max(1e-9, damping / 10);
        if (gained === 0) return params;
      } else {
        damping *= 10;
      }
    }
    if (gained < tolerance * sum) return params;
  }
  return params;
}

/** Adds one residual, and its row of the Jacobian from `row` on, to the normal equations (lower triangle). */
function addRow(
  jacobian: Float64Array,
  row: number,
  residual: number,
  normal: Float64Array,
  right: Float64Array,
): void {
  for (let p = 0, at = 0; p < n; p++, at += n) {
    const d = jacobian[row + p]!;
    if (d === 0) continue;
    right[p]! -= d * residual;
    for (let q = 0; q <= p; q++) normal[at + q]! += d * jacobian[row + q]!;
  }
}
