import { matFromPixel } from "../../geometry/index.js";
import type { View } from "../../view/index.js";
import { photoFromSmall, type SmallPicture } from "./small-picture.js";

/** Points of a small picture (x0, y0, x1, y1 ...) on the plane `zMm` above the mat, in the same order, mm. */
export function planeFromSmall(
  picture: SmallPicture,
  view: View,
  points: Int32Array,
  zMm: number,
): Float64Array {
  const out = new Float64Array(points.length);
  for (let i = 0; i < points.length; i += 2) {
    const [x, y] = matFromPixel(
      view.geometry,
      photoFromSmall(picture, points[i]!),
      photoFromSmall(picture, points[i + 1]!),
      zMm,
    );
    out[i] = x;
    out[i + 1] = y;
  }
  return out;
}
