/**
 * Rasters for the renderer: the project's own printed mat and tags, from its own PDF.
 *
 *   npx tsx samples/render/sheet-texture.ts OUT_DIR
 *
 * Writes mat-a4.png, mat-letter.png, tags.png (page mapped edge to edge onto the pixels, rasterised by pdftoppm,
 * Debian: poppler-utils) and sheets.json (sizes, and where each tag's card lies on its page, mm from its middle).
 */
import { execFileSync } from "node:child_process";
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import sharp from "sharp";
import {
  describeSheet,
  drawMatPdf,
  drawTagsPdf,
  layTagCards,
  markerCornersMm,
  type Paper,
} from "../../src/mat/index.js";

const dotsPerMm = 24;

/** pdftoppm places edges to a quarter of a pixel, so it draws twice as fine. */
async function raster(pdf: Uint8Array, name: string, paper: Paper, outDir: string): Promise<void> {
  const { widthMm, heightMm } = describeSheet(paper);
  const pdfFile = join(outDir, `${name}.pdf`);
  writeFileSync(pdfFile, pdf);
  const [width, height] = [Math.round(widthMm * dotsPerMm), Math.round(heightMm * dotsPerMm)];
  const size = ["-scale-to-x", String(2 * width), "-scale-to-y", String(2 * height)];
  const fine = join(outDir, `${name}-fine`);
  execFileSync("pdftoppm", ["-gray", "-png", "-singlefile", ...size, pdfFile, fine]);
  await sharp(`${fine}.png`).resize(width, height, { fit: "fill", kernel: "linear" }).png().toFile(join(outDir, `${name}.png`));
  rmSync(`${fine}.png`);
}

const outDir = process.argv[2];
if (outDir === undefined) throw new Error("expected: sheet-texture.ts OUT_DIR");
mkdirSync(outDir, { recursive: true });
const papers: readonly Paper[] = ["a4", "letter"];
for (const paper of papers) await raster(await drawMatPdf(paper), `mat-${paper}`, paper, outDir);
await raster(await drawTagsPdf("a4"), "tags", "a4", outDir);
const sheets = {
  tags_page_mm: [describeSheet("a4").widthMm, describeSheet("a4").heightMm],
  cards: Object.fromEntries(
    layTagCards("a4").map((card) => [card.tag.label, { from_mm: card.fromMm, to_mm: card.toMm }]),
  ),
  mats: Object.fromEntries(
    papers.map((paper) => {
      const sheet = describeSheet(paper);
      const markers = sheet.markers.map((m) => ({ id: m.id, corners_mm: markerCornersMm(m) }));
      return [paper, { size_mm: [sheet.widthMm, sheet.heightMm], bars: sheet.bars, markers, crosses: sheet.pierceCrosses }];
    }),
  ),
};
writeFileSync(join(outDir, "sheets.json"), JSON.stringify(sheets, null, 1));
