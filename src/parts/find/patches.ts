import { closeGaps } from "./close-gaps.js";
import type { Foreground } from "./foreground.js";
import { areaInside, hullOf } from "./hull-of.js";
import { outerBorders } from "./outer-borders.js";
import type { SmallPicture } from "./small-picture.js";

/** Outer border of one connected patch of foreground, small pixels x0, y0, x1, y1 ... */
export interface Patch {
  readonly contour: Int32Array;
  readonly hull: Int32Array;
  readonly areaPx: number;
}

/** Patches of metal of at least `minRadius` small pixels across, largest first. */
export function findPatches(
  { width, height }: Pick<SmallPicture, "width" | "height">,
  foreground: Pick<Foreground, "mask">,
  minRadius: number,
): Patch[] {
  // Joins a rim that glare or dust has cut by a pixel.
  const mask = closeGaps(foreground.mask, width, height);
  return outerBorders(mask, width, height)
    .filter((contour) => leastExtent(contour) >= 2 * minRadius * 0.8)
    .map((contour) => ({ contour, hull: hullOf(contour), areaPx: areaInside(contour) }))
    .sort((a, b) => b.areaPx - a.areaPx);
}

/** Shorter side of the upright box round a border, in pixels covered. */
function leastExtent(contour: Int32Array): number {
  let [left, right, top, bottom] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < contour.length; i += 2) {
    left = Math.min(left, contour[i]!);
    right = Math.max(right, contour[i]!);
    top = Math.min(top, contour[i + 1]!);
    bottom = Math.max(bottom, contour[i + 1]!);
  }
  return Math.min(right - left, bottom - top) + 1;
}
