import { matFromPixel, pixelFromMat, type ViewGeometry } from "../geometry/index.js";
import type { Sheet } from "../mat/index.js";
import type { View } from "./view.js";

/** Relative standard uncertainty of lengths on the seen part of the mat, print scale left out: the worst of a grid. */
export function scaleUncertainty(
  { widthPx, heightPx }: { readonly widthPx: number; readonly heightPx: number },
  sheet: Sheet,
  geometry: ViewGeometry,
  inputs: View["inputs"],
): number {
  const [halfX, halfY] = sheet.fieldHalfMm;
  const variances: number[] = [];
  for (const fx of [0.2, 0.5, 0.8]) {
    for (const fy of [0.2, 0.5, 0.8]) {
      const [x, y] = matFromPixel(geometry, fx * (widthPx - 1), fy * (heightPx - 1), 0);
      if (!(Math.abs(x) <= halfX && Math.abs(y) <= halfY)) continue;
      const [u0, v0] = pixelFromMat(geometry, x - 10, y - 10, 0);
      const [u1, v1] = pixelFromMat(geometry, x + 10, y + 10, 0);
      let variance = 0;
      for (const { id, geometry: moved } of inputs) {
        if (id.startsWith("scale:")) continue;
        const [x0, y0] = matFromPixel(moved, u0, v0, 0);
        const [x1, y1] = matFromPixel(moved, u1, v1, 0);
        variance += (Math.hypot(x1 - x0, y1 - y0) / Math.hypot(20, 20) - 1) ** 2;
      }
      variances.push(variance);
    }
  }
  // Nothing of the field in the picture: there is nothing to measure on.
  return variances.length ? Math.sqrt(Math.max(...variances)) : Infinity;
}
