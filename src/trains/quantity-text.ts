import type { Measured } from "./movement.js";

export type Dimension = "length" | "angle" | "time" | "acceleration";

/** Factors to mm, rad, s, m/s². */
const units: Readonly<Record<Dimension, ReadonlyMap<string, number>>> = {
  length: new Map([
    ["mm", 1],
    ["cm", 10],
    ["m", 1000],
    ["in", 25.4],
    ["inch", 25.4],
    ["inches", 25.4],
    ['"', 25.4],
    ["ft", 304.8],
  ]),
  angle: new Map([
    ["deg", Math.PI / 180],
    ["degree", Math.PI / 180],
    ["degrees", Math.PI / 180],
    ["°", Math.PI / 180],
    ["rad", 1],
  ]),
  time: new Map([
    ["s", 1],
    ["sec", 1],
    ["min", 60],
    ["h", 3600],
    ["hour", 3600],
    ["hours", 3600],
    ["day", 86400],
    ["days", 86400],
    ["week", 604800],
    ["weeks", 604800],
  ]),
  acceleration: new Map([
    ["m/s2", 1],
    ["m/s²", 1],
  ]),
};

export const exampleOf: Readonly<Record<Dimension, string>> = {
  length: '"32.5 mm", "1 1/2 in" or "0.40 ± 0.01 mm"',
  angle: '"2 deg"',
  time: '"1.5 s" or "12 h"',
  acceleration: '"9.812 m/s2"',
};

const number = String.raw`\d+(?:\.\d+)?`;
const pattern = new RegExp(
  String.raw`^(-?${number})(?:\s+(\d+)\/(\d+))?(?:\/(\d+))?\s*(?:(?:±|\+-|\+\/-)\s*(${number}))?\s*([a-z°"²\/2]+)$`,
  "i",
);

/**
 * Reads a figure with its unit, as people write it: "32.5 mm", "1 1/2 in", "3/8 in", "0.40 ± 0.01 mm" (the
 * figure after ± is the standard uncertainty).
 *
 * @returns the figure in mm, rad, s or m/s²; undefined if the text is no such figure.
 */
export function readQuantityText(text: string, dimension: Dimension): Measured | undefined {
  const match = pattern.exec(text.trim());
  if (match === null) return undefined;
  const [, whole, over, under, divisor, spread, unit] = match;
  const factor = units[dimension].get(unit!.toLowerCase());
  if (factor === undefined) return undefined;
  let value = Number(whole);
  if (over !== undefined) value += Math.sign(value || 1) * (Number(over) / Number(under));
  if (divisor !== undefined) value /= Number(divisor);
  if (!Number.isFinite(value)) return undefined;
  return spread === undefined
    ? { value: value * factor }
    : { value: value * factor, u: Number(spread) * factor };
}
