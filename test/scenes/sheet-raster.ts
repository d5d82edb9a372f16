import type { PointOnSheetMm, Sheet } from "../../src/mat/index.js";
import { markerBits, markerCells, sheetMarks } from "../../src/mat/index.js";

export interface SheetRaster {
  readonly width: number;
  readonly height: number;
  /** One grey level a pixel (0 black, 255 paper), rows from the top; not rounded, so that blur can follow. */
  readonly grey: Float32Array;
  /** Pixel of a point of the sheet's description (mm, y up): (0, 0) is the centre of the top left pixel. */
  pixelFromSheet(pointMm: PointOnSheetMm): readonly [number, number];
}

export interface SheetRasterOptions {
  /** Printed length over nominal length, across and along; the middle of the paper stays. Default [1, 1]. */
  readonly printScale?: readonly [across: number, along: number];
}

/**
 * The printed sheet as pixels, each the exact mean over its area: markers, check bars, grey patch, crosses and
 * corner ticks, without the words. It shares no code with the PDF but the description of the sheet.
 *
 * @param pxPerMm pixels per millimetre of paper.
 */
export function renderSheet(sheet: Sheet, pxPerMm: number, options: SheetRasterOptions = {}): SheetRaster {
  const [across, along] = options.printScale ?? [1, 1];
  const width = Math.round(sheet.widthMm * pxPerMm);
  const height = Math.round(sheet.heightMm * pxPerMm);
  const grey = new Float32Array(width * height).fill(255);
  // Edges here, where pixel i covers i to i + 1; half a pixel less in `pixelFromSheet`.
  const edgeX = (xMm: number): number => width / 2 + xMm * across * pxPerMm;
  const edgeY = (yMm: number): number => height / 2 - yMm * along * pxPerMm;

  const eachPixel = (
    fromMm: PointOnSheetMm,
    toMm: PointOnSheetMm,
    paint: (i: number, part: number) => void,
  ): void => {
    const columns = coverage(edgeX(fromMm[0]), edgeX(toMm[0]), width);
    for (const [row, partOfRow] of coverage(edgeY(toMm[1]), edgeY(fromMm[1]), height)) {
      for (const [column, partOfColumn] of columns) paint(row * width + column, partOfRow * partOfColumn);
    }
  };

  for (const mark of sheetMarks(sheet)) {
    eachPixel(mark.fromMm, mark.toMm, (i, part) => (grey[i]! += part * (mark.grey - grey[i]!)));
  }
  const cellMm = sheet.markerSizeMm / markerCells;
  for (const { id, centreMm } of sheet.markers) {
    const left = centreMm[0] - sheet.markerSizeMm / 2;
    const top = centreMm[1] + sheet.markerSizeMm / 2;
    // Areas are added, not laid over one another: cells do not overlap, and so no seam shows between them.
    const add = (column: number, row: number, columns: number, rows: number, level: number): void =>
      eachPixel(
        [left + column * cellMm, top - (row + rows) * cellMm],
        [left + (column + columns) * cellMm, top - row * cellMm],
        (i, part) => (grey[i]! += level * part),
      );
    add(0, 0, markerCells, markerCells, -255);
    for (const { row, column, count } of whiteRuns(markerBits(id))) add(column, row, count, 1, 255);
  }
  return { width, height, grey, pixelFromSheet: ([x, y]) => [edgeX(x) - 0.5, edgeY(y) - 0.5] };
}

/** Pixels that the interval from..to touches, each with the part of it that is covered. */
function coverage(from: number, to: number, size: number): [index: number, part: number][] {
  const covered: [number, number][] = [];
  for (let i = Math.max(0, Math.floor(from)); i < Math.min(size, Math.ceil(to)); i++) {
    covered.push([i, Math.min(to, i + 1) - Math.max(from, i)]);
  }
  return covered;
}

function whiteRuns(bits: readonly boolean[][]): { row: number; column: number; count: number }[] {
  return bits.flatMap((cells, row) => {
    const runs: { row: number; column: number; count: number }[] = [];
    cells.forEach((black, column) => {
      if (black) return;
      const last = runs.at(-1);
      if (last && last.column + last.count === column) last.count++;
      else runs.push({ row, column, count: 1 });
    });
    return runs;
  });
}
