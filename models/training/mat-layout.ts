/** Writes mat-layout.json beside itself: what the scale mat has printed on it, for the training scenes. */
import { writeFile } from "node:fs/promises";
import { describeSheet, markerBits, papers, sheetMarks } from "../../src/mat/index.js";

const layout = papers.map((paper) => {
  const sheet = describeSheet(paper);
  return {
    paper,
    sizeMm: [sheet.widthMm, sheet.heightMm],
    markerSizeMm: sheet.markerSizeMm,
    fieldHalfMm: sheet.fieldHalfMm,
    markers: sheet.markers.map(({ id, centreMm }) => ({
      centreMm,
      // Eight rows from the top, 1 is black.
      rows: markerBits(id).map((row) => row.map((black) => (black ? "1" : "0")).join("")),
    })),
    boxes: sheetMarks(sheet).map(({ fromMm, toMm, grey }) => [...fromMm, ...toMm, grey]),
  };
});

const rounded = (_key: string, value: unknown): unknown =>
  typeof value === "number" ? Number(value.toFixed(4)) : value;
await writeFile(new URL("mat-layout.json", import.meta.url), JSON.stringify(layout, rounded) + "\n");
