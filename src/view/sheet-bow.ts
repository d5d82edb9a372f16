import { unknown, unknownCount } from "./mat-camera.js";

export const bowTerms = [unknown.bowXX, unknown.bowXY, unknown.bowYY] as const;

/**
 * Height of the table under the sheet, mm, against the sheet's middle: 0, or below for a sheet that arches up there. A
 * part on the sheet presses it down to the table, or some of the way.
 */
export function supportHeightMm(params: Float64Array, covariance: Float64Array): number {
  const lowest = bowRangeMm(params)[0];
  const u = Math.hypot(...bowTerms.map((index) => Math.sqrt(covariance[index * (unknownCount + 1)]!)));
  // Nothing but noise lifts a flat sheet too: believe as much of it as stands out.
  return lowest < 0 ? lowest * Math.max(0, 1 - (u / lowest) ** 2) : 0;
}

/** Lowest and highest point of the bowed sheet within the marker ring, mm, its middle being 0. */
export function bowRangeMm(params: ArrayLike<number>): [number, number] {
  let lowest = 0;
  let highest = 0;
  for (let X = -1; X <= 1; X += 0.5) {
    for (let Y = 0; Y <= 1; Y += 0.5) {
      const z =
        params[unknown.bowXX]! * X * X + params[unknown.bowXY]! * X * Y + params[unknown.bowYY]! * Y * Y;
      lowest = Math.min(lowest, z);
      highest = Math.max(highest, z);
    }
  }
  return [lowest, highest];
}
