import { propagate, type Quantity, type Unit } from "./quantity.js";

/** a + b; shared inputs add with their signs. */
export const add = <U extends Unit>(a: Quantity<U>, b: Quantity<NoInfer<U>>): Quantity<U> =>
  propagate(a.value + b.value, sameUnit(a, b), [
    [a, 1],
    [b, 1],
  ]);

/** a - b; shared inputs cancel, so that q - q is 0 with u = 0. */
export const subtract = <U extends Unit>(a: Quantity<U>, b: Quantity<NoInfer<U>>): Quantity<U> =>
  propagate(a.value - b.value, sameUnit(a, b), [
    [a, 1],
    [b, -1],
  ]);

/** factor q, for an exact number. */
export const scaleBy = <U extends Unit>(q: Quantity<U>, factor: number): Quantity<U> =>
  propagate(factor * q.value, q.unit, [[q, factor]]);

/**
 * a b. One of the two must be a plain number or an angle ("1", "rad"), unless the unit of the product is given.
 *
 * @throws RangeError if the product has no unit here, as mm x mm.
 */
export function multiply<U extends Unit>(a: Quantity<U>, b: Quantity<"1">): Quantity<U>;
export function multiply<U extends Unit>(a: Quantity<"1">, b: Quantity<U>): Quantity<U>;
export function multiply<U extends Unit>(a: Quantity<Unit>, b: Quantity<Unit>, unit: U): Quantity<U>;
export function multiply(a: Quantity<Unit>, b: Quantity<Unit>, unit?: Unit): Quantity<Unit> {
  const found = unit ?? (b.unit === "1" ? a.unit : a.unit === "1" ? b.unit : undefined);
  if (found === undefined) throw new RangeError(`${a.unit} times ${b.unit}: state the unit of the product`);
  return propagate(a.value * b.value, found, [
    [a, b.value],
    [b, a.value],
  ]);
}

/**
 * a / b. Equal units give a plain number; a plain divisor leaves the unit of `a`; else the unit must be given.
 *
 * @throws RangeError if b is 0, or the quotient has no unit here, as mm / px.
 */
export function divide<U extends Unit>(a: Quantity<U>, b: Quantity<"1">): Quantity<U>;
export function divide<U extends Unit>(a: Quantity<U>, b: Quantity<NoInfer<U>>): Quantity<"1">;
export function divide<U extends Unit>(a: Quantity<Unit>, b: Quantity<Unit>, unit: U): Quantity<U>;
export function divide(a: Quantity<Unit>, b: Quantity<Unit>, unit?: Unit): Quantity<Unit> {
  const found = unit ?? (a.unit === b.unit ? "1" : b.unit === "1" ? a.unit : undefined);
  if (found === undefined)
    throw new RangeError(`${a.unit} divided by ${b.unit}: state the unit of the quotient`);
  if (b.value === 0) throw new RangeError("division by a quantity whose value is 0");
  const value = a.value / b.value;
  return propagate(value, found, [
    [a, 1 / b.value],
    [b, -value / b.value],
  ]);
}

function sameUnit<U extends Unit>(a: Quantity<U>, b: Quantity<Unit>): U {
  if (a.unit !== b.unit) throw new RangeError(`expected one unit, received ${a.unit} and ${b.unit}`);
  return a.unit;
}
