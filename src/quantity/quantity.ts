export type Unit = "mm" | "px" | "rad" | "1";
export type Source = "scale" | "pose" | "height" | "edge" | "fit" | "resolution";
/** One independent input: source, then owner, as in "scale:mat-across". */
export type InputId = `${Source}:${string}`;

/**
 * A measured value that remembers the independent inputs it came from, so that shared ones (scale, pose)
 * cancel or add as they should.
 */
export interface Quantity<U extends Unit> {
  readonly value: number;
  readonly unit: U;
  /** c_i u(x_i), signed, in `unit`. Same id, same input. */
  readonly terms: ReadonlyMap<InputId, number>;
}

export type Term = readonly [InputId, number];

export const quantity = <U extends Unit>(
  value: number,
  unit: U,
  terms: Iterable<Term> = [],
): Quantity<U> => ({
  value,
  unit,
  terms: new Map(terms),
});

/** Combined standard uncertainty (k = 1), in the unit of `q`. JCGM 100:2008, 5.1.2. */
export const standardUncertainty = (q: Quantity<Unit>): number => Math.hypot(...q.terms.values());

/**
 * First-order propagation: y = `value`, with sensitivity c_i = dy/dq_i to each quantity.
 * Terms of the same input are added with their signs. JCGM 100:2008, 5.1.2 and 5.2.2 (by shared inputs).
 *
 * @param extra terms that belong to y alone, in its unit.
 */
export function propagate<U extends Unit>(
  value: number,
  unit: U,
  inputs: readonly (readonly [Quantity<Unit>, number])[],
  extra: Iterable<Term> = [],
): Quantity<U> {
  const terms = new Map<InputId, number>();
  for (const [q, sensitivity] of inputs) {
    for (const [id, term] of q.terms) terms.set(id, (terms.get(id) ?? 0) + sensitivity * term);
  }
  for (const [id, term] of extra) terms.set(id, (terms.get(id) ?? 0) + term);
  return { value, unit, terms };
}
