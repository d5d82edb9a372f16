import type { PointOnSheetMm } from "../../src/mat/index.js";
import type { PdfPixels } from "./pdf-pixels.js";

/** Position of the four edges of a marker's border, each from the ink between a point inside and one outside. */
export function markerEdgesMm(
  page: PdfPixels,
  [x, y]: PointOnSheetMm,
  sizeMm: number,
): { left: number; right: number; bottom: number; top: number } {
  const half = sizeMm / 2;
  const cell = sizeMm / 8;
  // Inside the border strip along each side everything is black, outside everything white: ink is a length.
  const reach = cell * 0.9;
  const width = sizeMm * 0.6;
  const out = 1;
  return {
    left:
      x -
      half +
      reach -
      page.inkMm2([x - half - out, y - width / 2], [x - half + reach, y + width / 2]) / width,
    right:
      x +
      half -
      reach +
      page.inkMm2([x + half - reach, y - width / 2], [x + half + out, y + width / 2]) / width,
    bottom:
      y -
      half +
      reach -
      page.inkMm2([x - width / 2, y - half - out], [x + width / 2, y - half + reach]) / width,
    top:
      y +
      half -
      reach +
      page.inkMm2([x - width / 2, y + half - reach], [x + width / 2, y + half + out]) / width,
  };
}

/** The code cells of a marker as seen: 6 rows from the top, 1 = white; throws if a cell is neither. */
export function readCells(page: PdfPixels, [x, y]: PointOnSheetMm, sizeMm: number): (0 | 1)[][] {
  const cell = sizeMm / 8;
  return Array.from({ length: 6 }, (_, row) =>
    Array.from({ length: 6 }, (_, column): 0 | 1 => {
      const left = x + (column - 3) * cell;
      const top = y - (row - 3) * cell;
      const inset = 0.1 * cell;
      const { darkest, lightest } = page.range(
        [left + inset, top - cell + inset],
        [left + cell - inset, top - inset],
      );
      if (darkest !== lightest || (darkest !== 0 && darkest !== 255)) {
        throw new Error(`cell ${row}, ${column}: levels ${darkest} to ${lightest}`);
      }
      return darkest === 255 ? 1 : 0;
    }),
  );
}

/** Middle of a fine tick: the balance point of its ink in a window of 1.2 mm, beside the bar's own line. */
export function tickMiddleMm(page: PdfPixels, at: PointOnSheetMm, direction: "across" | "along"): number {
  const along = direction === "across" ? 0 : 1;
  let ink = 0;
  let moment = 0;
  const stepMm = 1 / page.pxPerMm;
  for (let from = at[along] - 0.6; from < at[along] + 0.6; from += stepMm) {
    const corner = (low: number, side: number): PointOnSheetMm => (along === 0 ? [low, side] : [side, low]);
    const beside = at[1 - along]!;
    const slice =
      page.inkMm2(corner(from, beside + 0.6), corner(from + stepMm, beside + 1.6)) +
      page.inkMm2(corner(from, beside - 1.6), corner(from + stepMm, beside - 0.6));
    ink += slice;
    moment += slice * (from + stepMm / 2);
  }
  if (ink < 0.1) throw new Error(`no tick at ${at.join(", ")}`);
  return moment / ink;
}
