import { cameraCentreMm } from "../../geometry/index.js";
import type { FacePlane } from "../face-plane.js";
import { lightGapPx, type ToothCircle } from "../wheel/fit-tooth-circle.js";

/**
 * How far the middle of a wheel that seems to lie flat may be raised by a lean too small to be told, as a standard uncertainty, mm.
 *
 * A lean sets the centres by tips and by spacing apart by r² sin(lean) / D, D being the camera's height, and makes tips
 * oval by r (1 - cos(lean)) / 2: neither can be larger than is seen, or than would be seen.
 */
export function uRaisedByLeanMm(circle: ToothCircle, face: FacePlane, tipMm: number, pxMm: number): number {
  const aboveMm = cameraCentreMm(face.geometry.cameraFromMat)[2] - face.zMm;
  const [x, y] = circle.radialMm;
  const [a, b] = circle.tangentialMm;
  const uGapMm = Math.hypot(circle.uRadialMm, circle.uTangentialMm, lightGapPx * pxMm);
  const byGap = (Math.max(Math.hypot(x - a, y - b), uGapMm) * aboveMm) / tipMm ** 2;
  const ovalMm = Math.hypot(...circle.ovalMm) + 2 * circle.uOvalMm;
  const byOval = Math.sqrt((4 * ovalMm) / tipMm);
  return tipMm * Math.sin(Math.min(byGap, byOval, 1));
}
