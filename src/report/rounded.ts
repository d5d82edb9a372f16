import type { QuantityRecord } from "../record/index.js";

/** Coverage factor of every expanded uncertainty in a report: about 95 % if the distribution is near normal. */
export const coverageFactor = 2;

/** A value and its expanded uncertainty as digits, cut at the same place. */
export interface RoundedQuantity {
  readonly value: string;
  /** k = 2; two significant digits. */
  readonly expanded: string;
  readonly decimals: number;
}

const minus = (digits: string): string => digits.replace("-", "\u2212");

/** Decimals that show two significant digits of `x`; no more than six. */
function decimalsFor(x: number): number {
  if (!(x > 0)) return 3;
  // toExponential rounds first, so that 0.0996 counts as 0.10.
  const exponent = Number(x.toExponential(1).split("e")[1]);
  return Math.min(6, Math.max(0, 1 - exponent));
}

/**
 * Rounds for a report: the expanded uncertainty to two significant digits, the value to the same place.
 * JCGM 100:2008, 7.2.6 (from memory).
 *
 * @param factor multiplies both first, as 1 / 25.4 for inches.
 */
export function roundQuantity(q: QuantityRecord, factor = 1): RoundedQuantity {
  const expanded = coverageFactor * q.u * factor;
  const decimals = decimalsFor(expanded);
  const value = (q.value * factor).toFixed(decimals);
  return {
    value: Number(value) === 0 ? (0).toFixed(decimals) : minus(value),
    expanded: expanded.toFixed(decimals),
    decimals,
  };
}

/** "40.056 ± 0.018 mm": value, expanded uncertainty (k = 2), unit. */
export function quantityText(q: QuantityRecord, unit = "mm", factor = 1): string {
  const { value, expanded } = roundQuantity(q, factor);
  // No-break spaces: a value and its uncertainty stay on one line.
  return `${value}\u00a0±\u00a0${expanded}${unit === "" ? "" : unit === "°" ? "°" : `\u00a0${unit}`}`;
}

/** A plain number with `decimals` places and a true minus sign. */
export const numberText = (value: number, decimals: number): string => {
  const digits = value.toFixed(decimals);
  return Number(digits) === 0 ? (0).toFixed(decimals) : minus(digits);
};
