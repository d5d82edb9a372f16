import type { Foreground } from "./foreground.js";
import { loadOpenCv } from "./open-cv.js";
import type { SmallPicture } from "./small-picture.js";

/** Outer border of one connected patch of foreground, small pixels x0, y0, x1, y1 ... */
export interface Patch {
  readonly contour: Int32Array;
  readonly hull: Int32Array;
  readonly areaPx: number;
}

/** Patches of metal of at least `minRadius` small pixels across, largest first. */
export function findPatches(picture: SmallPicture, foreground: Foreground, minRadius: number): Patch[] {
  const cv = loadOpenCv();
  const mask = new cv.Mat(picture.height, picture.width, cv.CV_8UC1);
  mask.data.set(foreground.mask);
  const kernel = cv.getStructuringElement(cv.MORPH_ELLIPSE, new cv.Size(3, 3));
  const contours = new cv.MatVector();
  const hierarchy = new cv.Mat();
  try {
    // Joins a rim that glare or dust has cut by a pixel.
    cv.morphologyEx(mask, mask, cv.MORPH_CLOSE, kernel);
    cv.findContours(mask, contours, hierarchy, cv.RETR_EXTERNAL, cv.CHAIN_APPROX_NONE);
    const patches: Patch[] = [];
    for (let i = 0; i < contours.size(); i++) {
      const contour = contours.get(i);
      const box = cv.boundingRect(contour);
      if (Math.min(box.width, box.height) >= 2 * minRadius * 0.8) {
        const hull = new cv.Mat();
        cv.convexHull(contour, hull, false, true);
        patches.push({
          contour: Int32Array.from(contour.data32S),
          hull: Int32Array.from(hull.data32S),
          areaPx: cv.contourArea(contour),
        });
        hull.delete();
      }
      contour.delete();
    }
    return patches.sort((a, b) => b.areaPx - a.areaPx);
  } finally {
    mask.delete();
    kernel.delete();
    contours.delete();
    hierarchy.delete();
  }
}
