import type { Quantity } from "../quantity/index.js";
import { propagate, quantity, standardUncertainty } from "../quantity/index.js";
import type { Measured } from "./movement.js";

/**
 * A function of measured figures, with its standard uncertainty to first order (JCGM 100:2008, 5.1.2): the
 * inputs are taken as independent, sensitivities by central difference over each one's own uncertainty.
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
    const sensitivity = (at(input.u) - at(-input.u)) / (2 * input.u);
    return [[quantity(input.value, "1", [[`resolution:${i}`, input.u]]), sensitivity]];
  });
  return { value, u: standardUncertainty(propagate(value, "1", carrying)) };
}

export const scaled = ({ value, u }: Measured, factor: number): Measured => ({
  value: value * factor,
  ...(u !== undefined && { u: u * Math.abs(factor) }),
});
