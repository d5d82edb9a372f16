import type { View } from "../../view/index.js";
import type { Point } from "../part.js";
import type { PhotoBox } from "./metal-up-close.js";
import type { Patch } from "./patches.js";
import { planeFromSmall } from "./plane-from-small.js";
import { photoFromSmall, type SmallPicture } from "./small-picture.js";

/** Something that was seen: middle and size. */
export interface Unknown {
  readonly centrePx: Point;
  readonly centreMm: Point;
  readonly lengthMm: number;
  readonly widthMm: number;
  /** Round, with teeth that cannot be told from what lies below. */
  readonly hasTeeth?: boolean;
}

/** Points of the small picture on the plane, mm. */
export function toPlane(picture: SmallPicture, view: View, points: Int32Array, zMm: number): Point[] {
  const flat = planeFromSmall(picture, view, points, zMm);
  return Array.from({ length: flat.length >> 1 }, (_, i) => [flat[2 * i]!, flat[2 * i + 1]!]);
}

/** Place and size of a patch. */
export function describePatch(picture: SmallPicture, view: View, patch: Patch, zMm: number): Unknown {
  const hull = toPlane(picture, view, patch.hull, zMm);
  const xs = hull.map((p) => p[0]);
  const ys = hull.map((p) => p[1]);
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const middle = (from: number): number => {
    let [low, high] = [Infinity, -Infinity];
    for (let i = from; i < patch.hull.length; i += 2) {
      low = Math.min(low, patch.hull[i]!);
      high = Math.max(high, patch.hull[i]!);
    }
    return photoFromSmall(picture, (low + high) / 2);
  };
  return {
    centrePx: [middle(0), middle(1)],
    centreMm: [(x0 + x1) / 2, (y0 + y1) / 2],
    lengthMm: Math.max(x1 - x0, y1 - y0),
    widthMm: Math.min(x1 - x0, y1 - y0),
  };
}

/** Of a patch, in the photograph, px. */
export function boxOf(picture: SmallPicture, { hull }: Patch): PhotoBox {
  let [left, right, top, bottom] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < hull.length; i += 2) {
    left = Math.min(left, hull[i]!);
    right = Math.max(right, hull[i]!);
    top = Math.min(top, hull[i + 1]!);
    bottom = Math.max(bottom, hull[i + 1]!);
  }
  const { factor } = picture;
  return {
    left: left * factor,
    top: top * factor,
    width: (right - left + 1) * factor,
    height: (bottom - top + 1) * factor,
  };
}
