import aruco from "js-aruco2";
import { inflateSync } from "node:zlib";
import { beforeAll, describe, expect, test } from "vitest";
import type { Paper, Sheet } from "../../src/mat/index.js";
import { describeSheet, drawMatPdf, papers } from "../../src/mat/index.js";
import { renderSheet } from "../scenes/sheet-raster.js";
import type { PdfPixels } from "./pdf-pixels.js";
import { showPdf } from "./pdf-pixels.js";
import { markerEdgesMm, readCells, tickMiddleMm } from "./printed-edges.js";

// ISO 216 for A4 and A3; ANSI/ASME Y14.1 size A (8.5 x 11 inches) for Letter; both from memory.
const paperMm: Record<Paper, [number, number]> = {
  a4: [210, 297],
  letter: [8.5 * 25.4, 11 * 25.4],
  a3: [297, 420],
};
/** Both sides of all three papers have a whole number of pixels. */
const pxPerMm = 20;
/** Bar of this room's brief; half of it goes unnoticed by calipers. */
const toleranceMm = 0.05;

/** How often each drawing operator stands in the page's content. */
function contentOperators(pdf: Uint8Array): Map<string, number> {
  const raw = Buffer.from(pdf).toString("latin1");
  const counts = new Map<string, number>();
  for (const { 1: stream } of raw.matchAll(/\/FlateDecode\s*>>\s*stream\r?\n([^]*?)\r?\nendstream/g)) {
    const content = inflateSync(Buffer.from(stream!, "latin1")).toString("latin1");
    for (const line of content.split("\n")) {
      const operator = line.trim().split(" ").at(-1)!;
      counts.set(operator, (counts.get(operator) ?? 0) + 1);
    }
  }
  return counts;
}

describe.each(papers)("the mat on %s", (paper) => {
  let sheet: Sheet;
  let bytes: Uint8Array;
  let page: PdfPixels;
  beforeAll(async () => {
    sheet = describeSheet(paper);
    bytes = await drawMatPdf(paper);
    page = await showPdf(bytes, ...paperMm[paper], pxPerMm);
  });

  test("is one page of exactly the paper's size", () => {
    expect(page.pages).toBe(1);
    expect(page.widthMm).toBeCloseTo(paperMm[paper][0], 3);
    expect(page.heightMm).toBeCloseTo(paperMm[paper][1], 3);
  });

  test("has every marker's four edges where the sheet says", () => {
    let worst = 0;
    for (const { centreMm, id } of sheet.markers) {
      const edges = markerEdgesMm(page, centreMm, sheet.markerSizeMm);
      const half = sheet.markerSizeMm / 2;
      const off = [
        edges.left - (centreMm[0] - half),
        edges.right - (centreMm[0] + half),
        edges.bottom - (centreMm[1] - half),
        edges.top - (centreMm[1] + half),
      ];
      expect(Math.max(...off.map(Math.abs)), `marker ${id}`).toBeLessThan(toleranceMm);
      worst = Math.max(worst, ...off.map(Math.abs));
    }
    // PDFium's grey levels resolve 0.0004 mm here; worse would mean that the drawing has lost precision.
    expect(worst).toBeLessThan(0.002);
  });

  test("shows every marker's id to the dictionary, without a wrong cell", () => {
    const dictionary = new aruco.AR.Dictionary("APRILTAG_36h11");
    const seen = sheet.markers.map(({ centreMm }) =>
      dictionary.find(readCells(page, centreMm, sheet.markerSizeMm)),
    );
    expect(seen).toEqual(sheet.markers.map(({ id }) => ({ id, distance: 0 })));
  });

  test("has no hairline between cells: every pixel of a marker is the mean of the cells it covers", () => {
    const { grey } = renderSheet(sheet, pxPerMm);
    let compared = 0;
    let worst = 0;
    for (const { centreMm } of sheet.markers) {
      const left = Math.round(page.width / 2 + (centreMm[0] - 9) * pxPerMm);
      const top = Math.round(page.height / 2 - (centreMm[1] + 9) * pxPerMm);
      for (let row = top; row < top + 18 * pxPerMm; row++) {
        for (let column = left; column < left + 18 * pxPerMm; column++) {
          const i = row * page.width + column;
          worst = Math.max(worst, Math.abs(grey[i]! - page.grey[i]!));
          compared++;
        }
      }
    }
    expect(compared).toBeGreaterThan(38 * 360 * 360 - 1);
    // Two renderers may round an edge's place to 1/16 pixel (16 levels) and its level once more.
    expect(worst).toBeLessThan(20);
  });

  test("has check bars that are their nominal length from the middle of one tick to the middle of the other", () => {
    expect(sheet.bars.map(({ direction }) => direction)).toEqual(["across", "along"]);
    for (const { direction, fromMm, toMm, lengthMm } of sheet.bars) {
      expect(lengthMm).toBe(paper === "a3" ? 250 : 150);
      const from = tickMiddleMm(page, fromMm, direction);
      const to = tickMiddleMm(page, toMm, direction);
      expect(Math.abs(to - from - lengthMm), direction).toBeLessThan(toleranceMm);
      expect(Math.abs(from - fromMm[direction === "across" ? 0 : 1])).toBeLessThan(toleranceMm);
    }
  });

  test("keeps two millimetres of white paper round every marker", () => {
    for (const { centreMm, id } of sheet.markers) {
      const [x, y] = centreMm;
      const half = sheet.markerSizeMm / 2;
      // One pixel at the marker's own edge is mixed.
      const [near, far] = [half + 1 / pxPerMm, half + 2];
      for (const [from, to] of [
        [
          [x - far, y - far],
          [x - near, y + far],
        ],
        [
          [x + near, y - far],
          [x + far, y + far],
        ],
        [
          [x - far, y - far],
          [x + far, y - near],
        ],
        [
          [x - far, y + near],
          [x + far, y + far],
        ],
      ] as const) {
        expect(page.range(from, to).darkest, `marker ${id}`).toBe(255);
      }
    }
  });

  test("leaves at least 5 mm at every edge of the paper white, for printers that cannot reach it", () => {
    const [w, h] = [sheet.widthMm / 2, sheet.heightMm / 2];
    expect(page.range([-w, -h], [-w + 5, h]).darkest).toBe(255);
    expect(page.range([w - 5, -h], [w, h]).darkest).toBe(255);
    expect(page.range([-w, -h], [w, -h + 5]).darkest).toBe(255);
    expect(page.range([-w, h - 5], [w, h]).darkest).toBe(255);
  });

  test("keeps the working field plain but for light crosses, their letters and light corners", () => {
    const [fieldX, fieldY] = sheet.fieldHalfMm;
    // Light: nothing in the field is darker than the letters' mid grey.
    expect(page.range([-fieldX + 0.2, -fieldY + 0.2], [fieldX - 0.2, fieldY - 0.2]).darkest).toBeGreaterThan(
      120,
    );
    const crossesMm2 = sheet.pierceCrosses.reduce(
      (sum, { atMm: [x, y] }) => sum + page.inkMm2([x - 5, y - 5], [x + 5, y + 5]),
      0,
    );
    expect(crossesMm2).toBeGreaterThan(1);
    const insideMm2 = page.inkMm2([-fieldX + 0.2, -fieldY + 0.2], [fieldX - 0.2, fieldY - 0.2]);
    expect(insideMm2 - crossesMm2).toBeCloseTo(0, 6);
  });

  test("prints a neutral patch of sRGB 128", () => {
    const { centreMm, widthMm, heightMm } = sheet.greyPatch;
    const [x, y] = centreMm;
    const { darkest, lightest } = page.range(
      [x - widthMm / 2 + 0.1, y - heightMm / 2 + 0.1],
      [x + widthMm / 2 - 0.1, y + heightMm / 2 - 0.1],
    );
    expect(Math.abs(darkest - 128)).toBeLessThanOrEqual(1);
    expect(lightest).toBe(darkest);
  });

  test("says in searchable words what it is and how to print and measure it", () => {
    const text = page.text.replace(/\s+/g, " ");
    const name = { a4: "A4", letter: "US Letter", a3: "A3" }[paper];
    for (const words of [
      `scale mat, ${name}, revision 1`,
      "Print at 100 %",
      "do not fit to page",
      `${paper === "a3" ? "250.0" : "150.0"} mm nominal, measure me across the sheet from tick to tick (middle to middle)`,
      "measure me along the sheet from tick to tick",
      "pierce the sheet at a cross",
      "all four corners in view",
    ]) {
      expect(text).toContain(words);
    }
  });

  test("asks the print dialogue for actual size, one side, and shows its title", () => {
    const raw = Buffer.from(bytes).toString("latin1");
    expect(raw).toMatch(/\/ViewerPreferences \d+ 0 R/);
    expect(raw).toContain("/PrintScaling /None");
    expect(raw).toContain("/Duplex /Simplex");
    expect(raw).toContain("/DisplayDocTitle true");
    expect(raw).toMatch(/\(wheelsurvey scale mat, /);
  });

  test("is drawn in black ink alone, as shapes and words", () => {
    // Coloured black is printed from several inks whose misfit moves edges.
    const operators = contentOperators(bytes);
    expect(operators.get("g")).toBeGreaterThan(10);
    expect(operators.get("f*")).toBe(sheet.markers.length);
    for (const colour of ["rg", "RG", "k", "K", "cs", "CS", "sc", "SC", "scn", "SCN", "sh", "Do", "BI"]) {
      expect(operators.has(colour), colour).toBe(false);
    }
  });

  test("brings its fonts along and can be read out", () => {
    const raw = Buffer.from(bytes).toString("latin1");
    const fonts = raw.match(/\/Type \/FontDescriptor/g) ?? [];
    expect(fonts).toHaveLength(2);
    expect(raw.match(/\/FontFile[23]? /g)).toHaveLength(fonts.length);
    // The standard fonts of a reader would be of this kind.
    expect(raw).not.toMatch(/\/Subtype \/Type1\b/);
    expect(raw).toMatch(/\/MarkInfo/);
    expect(raw).toMatch(/\/S \/H1\b/);
    expect(raw).toMatch(/\/S \/P\b/);
    // All marks are ornament to a reader: every operator that fills stands between their tags.
    const operators = contentOperators(bytes);
    expect(operators.get("BDC")).toBe(operators.get("EMC"));
  });

  test("is the same file on every call", async () => {
    expect(Buffer.from(await drawMatPdf(paper)).equals(Buffer.from(bytes))).toBe(true);
  });
});
