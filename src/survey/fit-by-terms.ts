import { choleskyFactor, solveLinearLeastSquares } from "../fit/index.js";
import { failed, ok, type Outcome } from "../problem/index.js";
import { propagate, quantity, type InputId, type Quantity, type Term, type Unit } from "../quantity/index.js";

/** Numbers that share inputs: term k of input i is what one standard uncertainty of i does to number k. */
export interface TermedNumbers {
  readonly values: Float64Array;
  readonly terms: ReadonlyMap<InputId, Float64Array>;
}

export interface TermFit<U extends Unit> {
  /** In the order of the columns, with the terms of all inputs of the observations. */
  readonly params: readonly Quantity<U>[];
  readonly residuals: Float64Array;
  /** In units of the covariance; about the degrees of freedom if that is right. */
  readonly chiSquared: number;
  readonly degreesOfFreedom: number;
}

/**
 * Generalised least squares: observations = design x params, with the full covariance that their terms make. An
 * input that all observations share (height, scale) so becomes an unknown with its own uncertainty as its prior.
 *
 * @param design m x n, row-major.
 * @returns or problem "too-few-points" if the observations leave a parameter open.
 * @throws RangeError if lengths disagree or the covariance is singular (a number without a term of its own).
 * Source: A. C. Aitken's estimator (1936); terms are propagated as in JCGM 100, 5.2.
 */
export function fitByTerms<U extends Unit>(
  design: Float64Array,
  n: number,
  observed: TermedNumbers,
  unit: U,
): Outcome<TermFit<U>> {
  const { values, terms } = observed;
  const m = values.length;
  if (design.length !== m * n)
    throw new RangeError(`design: expected ${m} x ${n}, received ${design.length}`);
  const factor = choleskyFactor(covarianceOf(observed), m);
  if (factor === undefined) throw new RangeError("covariance: every number needs a term of its own");
  const whiteDesign = new Float64Array(m * n);
  for (let j = 0; j < n; j++) {
    const column = whitened(
      factor,
      Float64Array.from({ length: m }, (_, i) => design[i * n + j]!),
    );
    for (let i = 0; i < m; i++) whiteDesign[i * n + j] = column[i]!;
  }
  const fit = solveLinearLeastSquares(whiteDesign, whitened(factor, values), n);
  if (!fit.ok) return failed("too-few-points", fit.problem.text, fit.problem.advice);
  const { params, covariance, sumOfSquares } = fit.value;
  const sensitivities = [...terms].map(([id, term]): readonly [InputId, Float64Array] => {
    // params = (AᵀA)⁻¹ Aᵀ b for whitened A and b; linear, so it carries each term as it carries the values.
    const white = whitened(factor, term);
    const projected = new Float64Array(n);
    for (let i = 0; i < m; i++)
      for (let j = 0; j < n; j++) projected[j]! += whiteDesign[i * n + j]! * white[i]!;
    return [
      id,
      Float64Array.from({ length: n }, (_, j) =>
        projected.reduce((s, p, k) => s + covariance[j * n + k]! * p, 0),
      ),
    ];
  });
  const residuals = Float64Array.from(values, (v, i) => {
    for (let j = 0; j < n; j++) v -= design[i * n + j]! * params[j]!;
    return v;
  });
  return ok({
    params: Array.from(params, (value, j) =>
      quantity(
        value,
        unit,
        sensitivities.map(([id, s]): Term => [id, s[j]!]),
      ),
    ),
    residuals,
    chiSquared: sumOfSquares,
    degreesOfFreedom: m - n,
  });
}

/** Logarithm of the normal density of the numbers about zero (without the constant), by their terms. */
export function logDensity(observed: TermedNumbers): number {
  const m = observed.values.length;
  const factor = choleskyFactor(covarianceOf(observed), m);
  if (factor === undefined) throw new RangeError("covariance: every number needs a term of its own");
  const white = whitened(factor, observed.values);
  let sum = 0;
  for (let i = 0; i < m; i++) sum -= 0.5 * white[i]! ** 2 + Math.log(factor[i * m + i]!);
  return sum;
}

export function covarianceOf({ values, terms }: TermedNumbers): Float64Array {
  const m = values.length;
  const covariance = new Float64Array(m * m);
  for (const term of terms.values()) {
    if (term.length !== m) throw new RangeError(`term: expected ${m} numbers, received ${term.length}`);
    for (let i = 0; i < m; i++)
      if (term[i] !== 0) for (let j = 0; j < m; j++) covariance[i * m + j]! += term[i]! * term[j]!;
  }
  return covariance;
}

function whitened(factor: Float64Array, b: Float64Array): Float64Array {
  const m = b.length;
  const out = Float64Array.from(b);
  for (let i = 0; i < m; i++) {
    for (let k = 0; k < i; k++) out[i]! -= factor[i * m + k]! * out[k]!;
    out[i]! /= factor[i * m + i]!;
  }
  return out;
}

/** A quantity whose uncertainty is `factor` times as large, at least as it was. */
export const widened = <U extends Unit>(q: Quantity<U>, factor: number): Quantity<U> =>
  factor <= 1
    ? q
    : propagate(
        q.value,
        q.unit,
        [],
        [...q.terms].map(([id, term]): Term => [id, factor * term]),
      );

/**
 * Value that chi-squared exceeds with the chance that `z` standard deviations of a normal variable have.
 * Source: Wilson and Hilferty's cube (1931), from memory; within 1 % from 2 degrees on.
 */
export function chiSquaredLimit(degreesOfFreedom: number, z: number): number {
  const s = 2 / (9 * degreesOfFreedom);
  return degreesOfFreedom * Math.max(0, 1 - s + z * Math.sqrt(s)) ** 3;
}
