import { fitCircleRobust } from "../../fit/index.js";
import { cameraCentreMm } from "../../geometry/index.js";
import { pxPerMmOnFace } from "../face-plane.js";
import type { Rim } from "../wheel/find-rim.js";

/** Of the turn, so much must show the upper edge. */
const leastShown = 0.4;

/**
 * The upper edge alone of a disc that may be as high as it is wide (a lantern pinion on its end): towards the foot
 * point of the camera its wall and its lower edge look out from below, away from it nothing does.
 *
 * @returns the rim about the middle of that edge, NaN where the wall is seen; undefined where too little is shown.
 */
export function upperRim(rim: Rim): Rim | undefined {
  const { face, outlineMm } = rim;
  const [footX, footY] = cameraCentreMm(face.geometry.cameraFromMat);
  const [awayX, awayY] = [face.xMm - footX, face.yMm - footY];
  const n = outlineMm.length;
  const points: number[] = [];
  for (let i = 0; i < n; i++) {
    const r = outlineMm[i]!;
    const t = (2 * Math.PI * i) / n;
    if (Number.isNaN(r) || awayX * Math.cos(t) + awayY * Math.sin(t) + r < 0) continue;
    points.push(r * Math.cos(t), r * Math.sin(t));
  }
  if (points.length < 2 * leastShown * n) return undefined;
  const fit = fitCircleRobust(Float64Array.from(points), { uPointMm: 0.3 / pxPerMmOnFace(face) });
  if (!fit.ok) return undefined;
  const { x, y, radius } = fit.value;
  const own = new Float64Array(n).fill(NaN);
  for (let k = 0; k < points.length; k += 2) {
    const [dx, dy] = [points[k]! - x, points[k + 1]! - y];
    const i = Math.round((Math.atan2(dy, dx) / (2 * Math.PI)) * n);
    own[(i + n) % n] = Math.hypot(dx, dy);
  }
  const [a, b, c, d] = face.affine;
  return {
    face: { ...face, xMm: face.xMm + a * x + b * y, yMm: face.yMm + c * x + d * y },
    outlineMm: own,
    tipMm: radius,
    rootMm: radius,
    seen: points.length / 2 / n,
  };
}
