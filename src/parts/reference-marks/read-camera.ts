import { cameraCentreMm, matFromPixel } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { slopesOf, type View } from "../../view/index.js";
import { pixelFromFace, type FacePlane } from "../face-plane.js";
import type { CameraSeen } from "./wheel-marks.js";

const pointsRound = 24;

/**
 * What this photograph knows of the camera, and how the tooth circle's centre and the camera's place hang on it.
 *
 * @returns undefined without a mat.
 */
export function readCamera(
  photo: Photo,
  view: View,
  face: FacePlane,
  radiusMm: number,
): CameraSeen | undefined {
  const { solved } = view;
  if (solved === undefined) return undefined;
  const { shared, values, covariance, widenedBy } = solved;
  const pixels = Array.from({ length: pointsRound }, (_, i) =>
    pixelFromFace(face, radiusMm, (2 * Math.PI * i) / pointsRound),
  );
  const slopes = slopesOf(solved, (geometry) => {
    const centre = [0, 0];
    for (const [u, v] of pixels) {
      const [x, y] = matFromPixel(geometry, u, v, face.zMm);
      centre[0]! += x / pointsRound;
      centre[1]! += y / pointsRound;
    }
    return [...centre, ...cameraCentreMm(geometry.cameraFromMat)];
  });
  const n = values.length;
  const rows = [
    ...shared.map(({ index }) => Array.from({ length: n }, (_, j) => (j === index ? 1 : 0))),
    ...slopes,
  ];
  const m = rows.length;
  const seen = new Float64Array(m * m);
  for (let a = 0; a < m; a++) {
    for (let i = 0; i < n; i++) {
      const r = rows[a]![i]!;
      if (r === 0) continue;
      for (let b = 0; b < m; b++) {
        let sum = 0;
        for (let j = 0; j < n; j++) sum += covariance[i * n + j]! * rows[b]![j]!;
        seen[a * m + b]! += r * sum;
      }
    }
  }
  const { orientation } = photo.cameraData;
  return {
    widthPx: photo.widthPx,
    heightPx: photo.heightPx,
    ...(orientation === undefined ? {} : { orientation }),
    shared: shared.map(({ name, index, prior: [estimate, u] }) => ({
      name,
      value: values[index]!,
      estimate,
      u,
    })),
    covariance: seen,
    widenedBy,
  };
}
