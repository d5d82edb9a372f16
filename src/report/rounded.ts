import { roundToUncertainty } from "../quantity/index.js";
import type { QuantityRecord } from "../record/index.js";

/** Coverage factor of every expanded uncertainty in a report: about 95 % if the distribution is near normal. */
export const coverageFactor = 2;

/** A value and its expanded uncertainty (k = 2) as digits, cut at the same place. */
export interface RoundedQuantity {
  readonly value: string;
  readonly expanded: string;
}

/** A true minus sign, as wide as a digit. */
const minus = (digits: string): string => digits.replace("-", "\u2212");

/**
 * Rounds for a report: the expanded uncertainty to two significant digits, the value to the same place.
 *
 * @param factor multiplies both first, as 1 / 25.4 for inches.
 */
export function roundQuantity(q: QuantityRecord, factor = 1): RoundedQuantity {
  const { value, u } = roundToUncertainty(q.value * factor, coverageFactor * q.u * factor);
  return { value: minus(value), expanded: u };
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
