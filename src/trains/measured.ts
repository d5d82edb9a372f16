import type { Quantity } from "../quantity/index.js";
import { propagate, quantity, standardUncertainty } from "../quantity/index.js";
import type { Measured } from "./movement.js";

/**
 * A function of measured figures, with its standard uncertainty to first order (JCGM 100:2008, 5.1.2): the
 * inputs are taken as independent, sensitivities by central difference over each one's own uncertainty (or half of the
 * figure itself, if that is less).
 *
 * @returns `u` only if some input carries one.
 */
export function measuredFrom(
  inputs: readonly Measured[],
  f: (values: readonly number[]) => number,
): Measured {
  const values = inputs.map(({ value }) => value);
  const value = f(values);
  if (inputs.every(({ u }) => u === undefined)) return { value };
  const carrying = inputs.flatMap((input, i): [Quantity<"1">, number][] => {
    if (input.u === undefined || input.u === 0) return [];
    const at = (shift: number) => f(values.map((v, j) => (j === i ? v + shift : v)));
    // A size as vague as itself must not be tried at zero or below.
    const step = input.value === 0 ? input.u : Math.min(input.u, 0.5 * Math.abs(input.value));
    const sensitivity = (at(step) - at(-step)) / (2 * step);
    return [[quantity(input.value, "1", [[`resolution:${i}`, input.u]]), sensitivity]];
  });
  return { value, u: standardUncertainty(propagate(value, "1", carrying)) };
}

export const scaled = ({ value, u }: Measured, factor: number): Measured => ({
  value: value * factor,
  ...(u !== undefined && { u: u * Math.abs(factor) }),
});
