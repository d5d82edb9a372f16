import { standardUncertainty, type InputId, type Quantity, type Source, type Unit } from "./quantity.js";

/** Expanded uncertainty U = k u, in the unit of `q`. JCGM 100:2008, 6.2.1; k = 2 covers about 95 %. */
export const expandedUncertainty = (q: Quantity<Unit>, k = 2): number => k * standardUncertainty(q);

export interface SourceShare {
  readonly source: Source;
  /** Standard uncertainty from this source alone, in the unit of the quantity. */
  readonly u: number;
  /** Part of the variance, 0 to 1; all shares add up to 1. */
  readonly share: number;
}

/** Uncertainty by source, largest first; sources that contribute nothing are left out. */
export function budgetOf(q: Quantity<Unit>): readonly SourceShare[] {
  const variances = new Map<Source, number>();
  let total = 0;
  for (const [id, term] of q.terms) {
    const source = sourceOf(id);
    variances.set(source, (variances.get(source) ?? 0) + term * term);
    total += term * term;
  }
  return [...variances]
    .filter(([, variance]) => variance > 0)
    .sort(([, a], [, b]) => b - a)
    .map(([source, variance]) => ({ source, u: Math.sqrt(variance), share: variance / total }));
}

export interface InputShare {
  readonly id: InputId;
  readonly source: Source;
  /** Standard uncertainty from this input alone, in the unit of the quantity. */
  readonly u: number;
  /** Part of the variance, 0 to 1. */
  readonly share: number;
}

/** The `n` inputs that contribute most, largest first; inputs that contribute nothing are left out. */
export function largestInputs(q: Quantity<Unit>, n: number): readonly InputShare[] {
  const variance = standardUncertainty(q) ** 2;
  return [...q.terms]
    .filter(([, term]) => term !== 0)
    .sort(([, a], [, b]) => Math.abs(b) - Math.abs(a))
    .slice(0, n)
    .map(([id, term]) => ({ id, source: sourceOf(id), u: Math.abs(term), share: term ** 2 / variance }));
}

/** The part of an input's id before the colon. */
export const sourceOf = (id: InputId): Source => id.slice(0, id.indexOf(":")) as Source;
