import type { Px } from "./stage.js";

/** `toFixed` takes ten times as long, and a tray of wheels has some thousand points. */
const tenths = (value: number): number => Math.round(value * 10) / 10;

/** Lines from point to point, to a tenth of a pixel; "" for none. */
export function linesPath(points: readonly Px[]): string {
  let d = "";
  for (const [x, y] of points) d += `${d === "" ? "M" : "L"}${tenths(x)} ${tenths(y)}`;
  return d;
}

export const closedPath = (points: readonly Px[]): string =>
  points.length === 0 ? "" : `${linesPath(points)}Z`;
