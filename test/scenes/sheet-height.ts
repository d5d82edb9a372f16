import type { Ground } from "./scene.js";

/** How far to either side of a fold the paper stands off the table. */
const creaseReachMm = 45;

/** Height of a sheet that does not lie flat, over the point x, y of the table. `halfX`, `halfY`: half its size. */
export function sheetHeightMm(
  { bowMm, crease }: Extract<Ground, { kind: "mat" }>,
  halfX: number,
  halfY: number,
  x: number,
  y: number,
): number {
  const bow = bowMm * 0.5 * (1 + Math.cos((Math.PI * y) / halfY)) * (1 - 0.3 * (x / halfX) ** 2);
  if (!crease) return bow;
  return bow + crease.heightMm * Math.max(0, 1 - Math.abs(y - crease.atMm) / creaseReachMm);
}
