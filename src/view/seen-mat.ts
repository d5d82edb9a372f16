import { tagOfMarker, type Sheet } from "../mat/index.js";
import { quantity, type Quantity } from "../quantity/index.js";
import { centreOf, type FoundMarkers } from "./find-markers.js";
import type { LinearLight } from "./linear-light.js";
import { unknown, unknownCount } from "./mat-camera.js";
import type { ReadMarker } from "./read-marker.js";
import { refineMarker, signedArea, type RefinedMarker } from "./refine-marker.js";
import { bowRangeMm } from "./sheet-bow.js";
import type { MatCamera } from "./solve-mat-camera.js";
import type { SeenMat, SeenTag } from "./view.js";

export function seenMat(
  sheet: Sheet,
  camera: MatCamera,
  markers: readonly RefinedMarker[],
  printScaleMeasured: boolean,
): SeenMat {
  const [lowest, highest] = bowRangeMm(camera.params);
  const c = (i: number, j: number): number => camera.covariance[i * unknownCount + j]!;
  const uAcross = Math.sqrt(c(unknown.sx, unknown.sx));
  const shared = c(unknown.sx, unknown.sy) / uAcross;
  const own = Math.sqrt(Math.max(0, c(unknown.sy, unknown.sy) - shared * shared));
  const across: Quantity<"1"> = quantity(camera.params[unknown.sx]!, "1", [["scale:mat-across", uAcross]]);
  const along: Quantity<"1"> = quantity(camera.params[unknown.sy]!, "1", [
    ["scale:mat-across", shared],
    ["scale:mat-along", own],
  ]);
  return {
    paper: sheet.paper,
    revision: sheet.revision,
    markers: markers.map(({ id, corners }) => ({ id, cornersPx: cornerPairs(corners) })),
    reprojectionRmsPx: camera.rmsPx,
    printScaleAcross: across,
    printScaleAlong: along,
    bowMm: highest - lowest,
    printScaleMeasured,
  };
}

const cornerPairs = (corners: Float64Array): [number, number][] =>
  [0, 1, 2, 3].map((c) => [corners[2 * c]!, corners[2 * c + 1]!]);

/** Tags lie anywhere and at any height: they are read and outlined, no more. */
export function readTags(light: LinearLight, { ofTags, roughnessPx }: FoundMarkers): SeenTag[] {
  return ofTags.map((read: ReadMarker) => {
    const cellPx = Math.sqrt(Math.abs(signedArea(read.corners))) / 8;
    const reachPx = Math.min(0.45 * cellPx, Math.max(1.5, roughnessPx));
    const corners =
      refineMarker(light, read.id, { corners: read.corners }, { reachPx })?.corners ?? read.corners;
    return {
      label: tagOfMarker(read.id)!.label,
      centrePx: centreOf({ corners }),
      cornersPx: cornerPairs(corners),
    };
  });
}
