import { quantity, type InputId, type Quantity, type Term, type Unit } from "./quantity.js";

/** Step as a share of each term: small enough for a derivative, large enough above rounding; a power of two. */
const STEP = 2 ** -7;

/**
 * First-order propagation through any smooth function, with numeric sensitivities: each independent input is moved
 * by a small part of its u to both sides, in all quantities that share it at once. So shared inputs cancel exactly:
 * combine([q, q], ([a, b]) => a - b) has u = 0.
 *
 * @param f of the values, in the order of `inputs`; called 1 + 2 x (number of independent inputs) times.
 * @param unit of the result; default "1".
 * @throws RangeError if f is not finite at the estimates or beside them.
 * Source: JCGM 100:2008, 5.1.2 and 5.1.3 note 2.
 */
export function combine<U extends Unit = "1">(
  inputs: readonly Quantity<Unit>[],
  f: (values: number[]) => number,
  unit: U = "1" as U,
): Quantity<U> {
  const estimates = inputs.map((q) => q.value);
  const value = f(estimates.slice());
  if (!Number.isFinite(value)) {
    throw new RangeError(`the function is not finite at (${estimates.join(", ")})`);
  }
  const ids = new Set<InputId>(inputs.flatMap((q) => [...q.terms.keys()]));
  const terms: Term[] = [];
  for (const id of ids) {
    const moved = (sign: number): number =>
      f(inputs.map((q) => q.value + sign * STEP * (q.terms.get(id) ?? 0)));
    const term = (moved(1) - moved(-1)) / (2 * STEP);
    if (!Number.isFinite(term)) {
      throw new RangeError(`the function is not finite beside (${estimates.join(", ")}), along ${id}`);
    }
    terms.push([id, term]);
  }
  return quantity(value, unit, terms);
}
