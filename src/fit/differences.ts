/** A source of Jacobians for the solver. */
export interface Differences {
  /** Writes the Jacobian at `x`, column-major m x n; false if it is not finite. `f` are the residuals at `x`. */
  write(x: Float64Array, f: Float64Array, columns: Float64Array): boolean;
  /** Asks for finer derivatives from now on; false if these are the finest. */
  refine(): boolean;
}

export interface DifferencesInput {
  readonly problem: { residuals(params: Float64Array, out: Float64Array): void };
  readonly m: number;
  readonly n: number;
  /** Smallest size that a step is taken relative to, per parameter. */
  readonly typical: Float64Array;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  /** These are the finest. */
  readonly forwardOnly: boolean;
}

/** Relative steps that balance rounding against curvature: eps^(1/2) forward, eps^(1/3) central. */
const FORWARD = Math.sqrt(Number.EPSILON);
const CENTRAL = Math.cbrt(Number.EPSILON);

/** Numeric derivatives: forward differences first, central ones after `refine` where that is allowed. Steps stay within the bounds. */
export class NumericDifferences implements Differences {
  readonly #input: DifferencesInput;
  readonly #moved: Float64Array;
  readonly #ahead: Float64Array;
  readonly #behind: Float64Array;
  /** Bound, so that V8 calls it: it would compile every model into the functions below, anew for each kind of model. */
  readonly #residuals: (params: Float64Array, out: Float64Array) => void;
  #central = false;

  constructor(input: DifferencesInput) {
    this.#input = input;
    this.#residuals = input.problem.residuals.bind(input.problem);
    this.#moved = new Float64Array(input.n);
    this.#ahead = new Float64Array(input.m);
    this.#behind = new Float64Array(input.m);
  }

  write(x: Float64Array, f: Float64Array, columns: Float64Array): boolean {
    const { m, n, typical } = this.#input;
    for (let j = 0; j < n; j++) {
      this.#moved.set(x);
      const here = x[j]!;
      const step = (this.#central ? CENTRAL : FORWARD) * Math.max(Math.abs(here), typical[j]!);
      // What was really added, after rounding.
      const up = here + step;
      const down = here - step;
      const hasAhead = this.#evaluate(j, up, this.#ahead);
      const hasBehind = (this.#central || !hasAhead) && this.#evaluate(j, down, this.#behind);
      if (!hasAhead && !hasBehind) return false;
      const right = hasAhead ? this.#ahead : f;
      const left = hasBehind ? this.#behind : f;
      const inverse = 1 / ((hasAhead ? up : here) - (hasBehind ? down : here));
      for (let i = 0; i < m; i++) columns[j * m + i] = (right[i]! - left[i]!) * inverse;
    }
    return true;
  }

  refine(): boolean {
    if (this.#central || this.#input.forwardOnly) return false;
    this.#central = true;
    return true;
  }

  /** Residuals with parameter j set to `value`; false if outside the bounds or not finite. */
  #evaluate(j: number, value: number, out: Float64Array): boolean {
    const { lower, upper, m } = this.#input;
    if (value < lower[j]! || value > upper[j]!) return false;
    this.#moved[j] = value;
    this.#residuals(this.#moved, out);
    let sum = 0;
    for (let i = 0; i < m; i++) sum += out[i]!;
    return Number.isFinite(sum);
  }
}
