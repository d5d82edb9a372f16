import { polygonInSight, sightOf } from "../geometry/index.js";
import { describeSheet, markerCornersMm } from "../mat/index.js";
import type { View } from "./view.js";

type PolygonPx = readonly (readonly [number, number])[];

/** The sheet of paper and what is printed black or grey on it, as convex polygons in the photograph. */
export interface PrintedAreas {
  readonly sheet: PolygonPx;
  /** The plain working field: nothing but thin crosses is printed on it. */
  readonly field: PolygonPx;
  readonly printed: readonly PolygonPx[];
}

const marginMm = 1;

/** What of them the photograph can show; a polygon without points is out of sight. Undefined when no mat is in the picture. */
export function printedAreas(
  view: View,
  photo: { readonly widthPx: number; readonly heightPx: number },
): PrintedAreas | undefined {
  if (view.mat === undefined) return undefined;
  const sheet = describeSheet(view.mat.paper);
  const across = view.mat.printScaleAcross.value;
  const along = view.mat.printScaleAlong.value;
  const sight = sightOf(view.geometry.camera, photo.widthPx, photo.heightPx);
  const polygon = (corners: readonly (readonly [number, number])[]): PolygonPx =>
    polygonInSight(
      view.geometry,
      sight,
      corners.map(([x, y]) => [x * across, y * along, 0] as const),
    );
  const box = (x: number, y: number, halfWidth: number, halfHeight: number): PolygonPx =>
    polygon([
      [x - halfWidth, y + halfHeight],
      [x + halfWidth, y + halfHeight],
      [x + halfWidth, y - halfHeight],
      [x - halfWidth, y - halfHeight],
    ]);
  const patch = sheet.greyPatch;
  return {
    sheet: box(0, 0, sheet.widthMm / 2 - marginMm, sheet.heightMm / 2 - marginMm),
    field: box(0, 0, sheet.fieldHalfMm[0], sheet.fieldHalfMm[1]),
    printed: [
      ...sheet.markers.map((m) => polygon(markerCornersMm(m, sheet.markerSizeMm + 2 * marginMm))),
      box(...patch.centreMm, patch.widthMm / 2 + marginMm, patch.heightMm / 2 + marginMm),
    ],
  };
}
