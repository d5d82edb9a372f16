import { roundToUncertainty } from "../quantity/index.js";
import type { Measured } from "../trains/index.js";

/** Coverage factor of every ± in the text. */
export const k = 2;

export type LengthText = (mm: Measured | number, decimals?: number) => string;

/** Writes lengths, with their unit. */
export const lengthText =
  ({ inches }: { readonly inches: boolean }): LengthText =>
  (given, decimals = 1) => {
    const [factor, unit, places] = inches ? [1 / 25.4, "in", decimals + 2] : [1, "mm", decimals];
    const { value, u } = typeof given === "number" ? { value: given, u: undefined } : given;
    return `${measuredText({ value: value * factor, ...(u !== undefined && { u: u * factor }) }, places)} ${unit}`;
  };

/** @param decimals of a value without uncertainty. */
export function measuredText({ value, u }: Measured, decimals: number): string {
  if (u === undefined || u === 0) return String(Number(value.toFixed(decimals)));
  const rounded = roundToUncertainty(value, k * u);
  return `${rounded.value} ± ${rounded.u}`;
}

/** What a clock gains or loses, or how far it is from being known. */
export function rateText({ value, u = 0 }: Measured): string {
  const size = Math.abs(value);
  const open = k * u;
  const [divisor, unit] =
    Math.max(size, open) < 100 ? [1, "s"] : Math.max(size, open) < 6000 ? [60, "min"] : [3600, "h"];
  if (size <= open) return `right to ${measuredText({ value: open / divisor }, 1)} ${unit} a day`;
  if (size < 0.05) return "keeps time";
  const amount =
    u === 0 ? (size / divisor).toFixed(1) : measuredText({ value: size / divisor, u: u / divisor }, 1);
  return `${value > 0 ? "gains" : "loses"} ${amount} ${unit} a day`;
}

export const numberText = ({ exact, value }: { exact: string; value: number }, decimals = 3): string =>
  exact.includes("/") ? String(Number(value.toFixed(decimals))) : exact;
