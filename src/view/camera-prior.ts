import type { Photo } from "../photo/index.js";
import type { CameraPrior } from "./corner-system.js";
import type { PrintScalePrior } from "./print-scale-prior.js";

/** Diagonal of the 36 mm x 24 mm frame. */
const frameDiagonalMm = Math.hypot(36, 24);
/** EXIF rounds to whole mm, and makers differ in whether they mean the diagonal or the width. */
const uFromExif = 0.05;
/** Phones and short zooms: 0.65 to 1.15 of the long side cover most (common practice, no source). */
const typicalFocalOverLongSide = 0.86;
const uTypical = 0.25;

/** Square pixels; calibrations of good cameras differ by a few parts in ten thousand (from memory). */
const uAspect = 0.0005;

/**
 * What is believed of the camera before the mat is looked at.
 *
 * @param trustCameraData false when EXIF or the picture's centre turned out not to fit (cropped pictures).
 */
export function cameraPrior(
  photo: Pick<Photo, "widthPx" | "heightPx" | "cameraData">,
  print: PrintScalePrior,
  trustCameraData = true,
): CameraPrior {
  const { widthPx, heightPx, cameraData } = photo;
  const longSide = Math.max(widthPx, heightPx);
  const focal35 = trustCameraData ? cameraData.focalLength35mm : undefined;
  const known = focal35 !== undefined && focal35 >= 8 && focal35 <= 2000;
  const focalPx = known
    ? (focal35 / frameDiagonalMm) * Math.hypot(widthPx, heightPx)
    : typicalFocalOverLongSide * longSide;
  const uCentre = (trustCameraData ? 0.015 : 0.1) * longSide;
  return {
    lnF: [Math.log(focalPx), known ? uFromExif : trustCameraData ? uTypical : 0.5],
    lnAspect: [0, uAspect],
    cx: [(widthPx - 1) / 2, uCentre],
    cy: [(heightPx - 1) / 2, uCentre],
    // Phones correct their lenses mostly; plain cameras reach -0.3.
    k1: [0, 0.15],
    k2: [0, 0.3],
    tangential: [0, 0.0005],
    sx: print.across,
    sy: print.along,
    bloom: [0, 1.5],
    // A sheet on a table: a few tenths of a mm at its rim (common practice, no source).
    bow: [0, 0.3],
  };
}
