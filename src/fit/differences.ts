/** A source of Jacobians for the solver. */
export interface Differences {
  /** Writes the Jacobian at `x`, column-major m x n; false if it is not finite. `f` are the residuals at `x`. */
  write(x: Float64Array, f: Float64Array, columns: Float64Array): boolean;
  /** Asks for finer derivatives from now on; false if these are the finest. */
  refine(): boolean;
}

export interface DifferencesInput {
  readonly residuals: (params: Float64Array, out: Float64Array) => void;
  readonly m: number;
  readonly n: number;
  /** Smallest size that a step is taken relative to, per parameter. */
  readonly typical: Float64Array;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
}

/** Relative steps that balance rounding against curvature: eps^(1/2) forward, eps^(1/3) central. */
const FORWARD = Math.sqrt(Number.EPSILON);
const CENTRAL = Math.cbrt(Number.EPSILON);

/** Numeric derivatives: forward differences first, central ones after `refine`. Steps stay within the bounds. */
export function newDifferences({ residuals, m, n, typical, lower, upper }: DifferencesInput): Differences {
  const moved = new Float64Array(n);
  const ahead = new Float64Array(m);
  const behind = new Float64Array(m);
  let central = false;

  /** Residuals with parameter j set to `value`; false if outside the bounds or not finite. */
  function evaluate(j: number, value: number, out: Float64Array): boolean {
    if (value < lower[j]! || value > upper[j]!) return false;
    moved[j] = value;
    residuals(moved, out);
    let sum = 0;
    for (let i = 0; i < m; i++) sum += out[i]!;
    return Number.isFinite(sum);
  }

  return {
    write(x, f, columns) {
      for (let j = 0; j < n; j++) {
        moved.set(x);
        const here = x[j]!;
        const step = (central ? CENTRAL : FORWARD) * Math.max(Math.abs(here), typical[j]!);
        // What was really added, after rounding.
        const up = here + step;
        const down = here - step;
        const hasAhead = evaluate(j, up, ahead);
        const hasBehind = (central || !hasAhead) && evaluate(j, down, behind);
        if (!hasAhead && !hasBehind) return false;
        const right = hasAhead ? ahead : f;
        const left = hasBehind ? behind : f;
        const inverse = 1 / ((hasAhead ? up : here) - (hasBehind ? down : here));
        for (let i = 0; i < m; i++) columns[j * m + i] = (right[i]! - left[i]!) * inverse;
      }
      return true;
    },
    refine() {
      if (central) return false;
      central = true;
      return true;
    },
  };
}
