import type { PdfPage } from "./pdf-page.js";
import { openPdfPage } from "./pdf-page.js";
import { sheetMarks } from "./sheet-marks.js";
import type { CheckBar, Paper, Sheet } from "./sheet.js";
import { describeSheet } from "./sheet.js";

/** As printed on paper and said on screens. */
export const paperName: Record<Paper, string> = { a4: "A4", letter: "US Letter", a3: "A3" };

const faintGrey = 128;
const smallPt = 7;
/** From the bar to the base line of its words, on the side of the working field. */
const barWordsMm = 1.4;
const writingLineMm = 24;

/**
 * The scale mat as a PDF of one page, exact size, vectors only; the same bytes on every call.
 *
 * @returns the file's bytes.
 */
export async function drawMatPdf(paper: Paper): Promise<Uint8Array> {
  const sheet = describeSheet(paper);
  const title = `wheelsurvey scale mat, ${paperName[paper]}, revision ${sheet.revision}`;
  const page = await openPdfPage(title, sheet.widthMm, sheet.heightMm);
  page.fill(...sheetMarks(sheet));
  for (const { id, centreMm } of sheet.markers) page.marker(id, centreMm, sheet.markerSizeMm);
  writeHead(page, sheet, title);
  for (const bar of sheet.bars) writeBarWords(page, bar);
  writeUse(page, sheet);
  for (const { label, atMm } of sheet.pierceCrosses) {
    page.write({ text: label, atMm: [atMm[0] + 1, atMm[1] + 1], sizePt: smallPt, grey: faintGrey });
  }
  return page.bytes();
}

function writeHead(page: PdfPage, sheet: Sheet, title: string): void {
  const [fieldX, fieldY] = sheet.fieldHalfMm;
  page.write({ text: title, atMm: [-fieldX, fieldY + 5.2], sizePt: 10, bold: true, role: "H1" });
  page.write({
    text: "Print at 100 % (actual size), on matt paper, one side only; do not fit to page.",
    atMm: [-fieldX, fieldY + 1.9],
    sizePt: smallPt,
  });
  const { centreMm, widthMm } = sheet.greyPatch;
  const beside = centreMm[0] - widthMm / 2 - 1.5;
  page.write({ text: "neutral grey:", atMm: [beside, centreMm[1] + 0.5], sizePt: 6, align: "right" });
  const below = [beside, centreMm[1] - 2] as const;
  page.write({ text: "leave it in view", atMm: below, sizePt: 6, align: "right", continues: true });
}

/** Beside a bar: what it is, where to measure, and room to write the reading down. */
function writeBarWords(page: PdfPage, bar: CheckBar): void {
  const text =
    `${bar.lengthMm.toFixed(1)} mm nominal, measure me ${bar.direction} the sheet ` +
    "from tick to tick (middle to middle):";
  const start = 4;
  if (bar.direction === "across") {
    const y = bar.fromMm[1] + barWordsMm;
    const x = bar.fromMm[0] + start;
    const end = x + page.write({ text, atMm: [x, y], sizePt: smallPt }) + 1.5;
    page.fill({ fromMm: [end, y - 0.3], toMm: [end + writingLineMm, y - 0.15], grey: faintGrey });
    page.write({ text: "mm", atMm: [end + writingLineMm + 1, y], sizePt: smallPt });
  } else {
    const x = bar.fromMm[0] + barWordsMm + 2;
    const y = bar.fromMm[1] + start;
    const end = y + page.write({ text, atMm: [x, y], sizePt: smallPt, upwards: true }) + 1.5;
    page.fill({ fromMm: [x + 0.15, end], toMm: [x + 0.3, end + writingLineMm], grey: faintGrey });
    page.write({ text: "mm", atMm: [x, end + writingLineMm + 1], sizePt: smallPt, upwards: true });
  }
}

/** Up the right side, outside the working field. */
function writeUse(page: PdfPage, sheet: Sheet): void {
  const [fieldX] = sheet.fieldHalfMm;
  const lines = [
    "Lay this sheet flat on a board. Measure both check bars with calipers or a steel rule and write the " +
      "readings beside them.",
    "To let an arbor through, pierce the sheet at a cross, with foam or card below, so that the wheel lies flat. " +
      "Photograph from straight above (40 cm or more), all four corners in view.",
  ];
  lines.forEach((text, i) => {
    const atMm = [fieldX + 3.4 + 3.2 * i, 0] as const;
    page.write({ text, atMm, sizePt: smallPt, align: "centre", upwards: true });
  });
}
