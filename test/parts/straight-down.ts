import type { ViewGeometry } from "../../src/geometry/index.js";
import { identityAffine, type FacePlane } from "../../src/parts/face-plane.js";
import type { View } from "../../src/view/index.js";

/** A camera that looks straight down, `heightMm` above the mat and over the point `footMm` of it; 3000 px focal length. */
export function straightDown(
  heightMm: number,
  footMm: readonly [number, number] = [0, 0],
  focalPx = 3000,
): ViewGeometry {
  return {
    camera: { fxPx: focalPx, fyPx: focalPx, cxPx: 2000, cyPx: 1500, k1: 0, k2: 0 },
    cameraFromMat: {
      rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1],
      translationMm: [-footMm[0], footMm[1], heightMm],
    },
  };
}

export const faceAt = (geometry: ViewGeometry, xMm: number, yMm: number, zMm: number): FacePlane => ({
  geometry,
  xMm,
  yMm,
  zMm,
  affine: identityAffine,
});

export const viewOf = (geometry: ViewGeometry, inputs: View["inputs"] = []): View => ({
  source: "mat",
  geometry,
  inputs,
  edge: { blurSigmaPx: 0.8, shiftPx: 0, uShiftPx: 0.05 },
  tags: [],
  problems: [],
});
