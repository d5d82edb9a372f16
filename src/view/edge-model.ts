import { medianOf } from "../fit/index.js";
import { pxPerMmAt } from "../geometry/index.js";
import type { LinearLight } from "./linear-light.js";
import { unknown, unknownCount } from "./mat-camera.js";
import { measureBlurSigmaPx } from "./measure-blur.js";
import type { RefinedMarker } from "./refine-marker.js";
import type { MatCamera } from "./solve-mat-camera.js";
import type { EdgeModel } from "./view.js";

/** Edge growth by ink that spreads cannot be told from blooming; office printers, mm (common practice, no source). */
const uInkSpreadMm = 0.005;
/** A blurred phone picture, when there is no mat to learn from. */
export const plainEdge: EdgeModel = { blurSigmaPx: 0.9, shiftPx: 0, uShiftPx: 0.3 };
/** Blur by the median of up to `most` markers, px. */
export function blurOf(light: LinearLight, markers: readonly RefinedMarker[], most: number): number {
  const every = Math.max(1, Math.ceil(markers.length / most));
  const sigmas = markers
    .filter((_, i) => i % every === 0)
    .map((marker) => measureBlurSigmaPx(light, marker))
    .filter((sigma) => sigma !== undefined);
  return sigmas.length > 0 ? medianOf(sigmas) : plainEdge.blurSigmaPx;
}

/** The edges of a photograph as its markers show them. */
export function edgeModel(
  light: LinearLight,
  camera: MatCamera,
  markers: readonly RefinedMarker[],
): EdgeModel {
  const u = Math.sqrt(camera.covariance[unknown.bloom * (unknownCount + 1)]!);
  return {
    blurSigmaPx: blurOf(light, markers, 14),
    shiftPx: camera.params[unknown.bloom]!,
    uShiftPx: Math.hypot(u, uInkSpreadMm * pxPerMmAt(camera.geometry, 0, 0, 0)),
  };
}
