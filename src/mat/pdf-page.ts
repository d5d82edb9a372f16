import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import type { CellCorner } from "./marker-outline.js";
import { markerOutline } from "./marker-outline.js";
import { markerBits } from "./marker-bits.js";
import type { Mark } from "./sheet-marks.js";
import type { PointOnSheetMm } from "./sheet.js";
import { markerCells } from "./sheet.js";

const ptPerMm = 72 / 25.4;
/** Names the program that may overwrite the file; see `isOwnPdf`. */
const creator = "wheelsurvey mat";
/** Files must not change from day to day: the date is that of the sheet's revision. */
const revisionDate = new Date(Date.UTC(2026, 0, 1));

export interface Words {
  readonly text: string;
  /** Where the base line starts (or its middle, or its end: `align`), x right, y up, origin mid-page. */
  readonly atMm: PointOnSheetMm;
  readonly sizePt: number;
  readonly bold?: boolean;
  readonly align?: "left" | "centre" | "right";
  /** sRGB level; default 0. */
  readonly grey?: number;
  /** Turned a quarter anticlockwise: reads upwards. */
  readonly upwards?: boolean;
  /** What it is to somebody who has the page read out; default a paragraph. */
  readonly role?: "H1" | "H2" | "H3" | "P";
  /** One more line of the paragraph before. */
  readonly continues?: boolean;
}

export interface PdfPage {
  /** Marks of one grey level become one shape. */
  fill(...marks: readonly Mark[]): void;
  marker(id: number, centreMm: PointOnSheetMm, sizeMm: number): void;
  /** @returns the length of the line, mm. */
  write(words: Words): number;
  /** Breaks a text into lines of at most `widthMm`. */
  wrap(text: string, widthMm: number, sizePt: number, bold?: boolean): string[];
  /** Ends the document. */
  bytes(): Promise<Uint8Array>;
}

/**
 * One page of exact size to draw on in millimetres, origin in its middle, x right, y up.
 * All ink is DeviceGray: a printer lays it in black alone, so that the misfit of its colours moves no edge.
 * Words are in a font that comes along; the page is tagged: its words are paragraphs and headings, its marks ornament.
 */
export async function openPdfPage(title: string, widthMm: number, heightMm: number): Promise<PdfPage> {
  const { default: PdfDocument } = await import("pdfkit");
  const pdf = new PdfDocument({
    size: [widthMm * ptPerMm, heightMm * ptPerMm],
    margin: 0,
    pdfVersion: "1.7",
    lang: "en",
    tagged: true,
    displayTitle: true,
    info: {
      Title: title,
      Creator: creator,
      Producer: creator,
      CreationDate: revisionDate,
      ModDate: revisionDate,
    },
  });
  // PDF 1.7 (ISO 32000-1:2008, table 150, from memory): the print dialogue then offers actual size, the right tray, one side.
  const { _root: root } = pdf as unknown as { _root: { data: { ViewerPreferences: { data: object } } } };
  Object.assign(root.data.ViewerPreferences.data, {
    PrintScaling: "None",
    PickTrayByPDFSize: true,
    Duplex: "Simplex",
  });
  const [regular, bold] = await Promise.all([readSans("400"), readSans("600")]);
  pdf.registerFont("regular", regular);
  pdf.registerFont("bold", bold);
  const document = pdf.struct("Document");
  pdf.addStructure(document);
  let paragraph: PDFKit.PDFStructureElement | undefined;
  const asOrnament = (draw: () => void): void => {
    pdf.markContent("Artifact", { type: "Layout" });
    draw();
    pdf.endMarkedContent();
  };
  const chunks: Uint8Array[] = [];
  const ended = new Promise<void>((resolve, reject) => {
    pdf.on("data", (chunk: Uint8Array) => chunks.push(chunk));
    pdf.on("end", resolve);
    pdf.on("error", reject);
  });
  // pdfkit turns the page's y axis down; its points are kept, only the origin moves.
  const xPt = (xMm: number): number => (xMm + widthMm / 2) * ptPerMm;
  const yPt = (yMm: number): number => (heightMm / 2 - yMm) * ptPerMm;
  const ink = (grey: number): void => void pdf.addContent(`${Number((grey / 255).toFixed(4))} g`);
  const useFont = (isBold: boolean | undefined, sizePt: number): void =>
    void pdf.font(isBold ? "bold" : "regular").fontSize(sizePt);

  return {
    fill(...marks) {
      asOrnament(() => {
        for (const level of new Set(marks.map(({ grey }) => grey))) {
          ink(level);
          for (const { fromMm, toMm, grey } of marks) {
            if (grey !== level) continue;
            const [left, top] = [xPt(fromMm[0]), yPt(toMm[1])];
            pdf.rect(left, top, xPt(toMm[0]) - left, yPt(fromMm[1]) - top);
          }
          pdf.fill();
        }
      });
    },
    marker(id, [x, y], sizeMm) {
      const cellMm = sizeMm / markerCells;
      const corner = ([column, row]: CellCorner): [number, number] => [
        xPt(x - sizeMm / 2 + column * cellMm),
        yPt(y + sizeMm / 2 - row * cellMm),
      ];
      asOrnament(() => {
        ink(0);
        for (const [first, ...others] of markerOutline(markerBits(id))) {
          pdf.moveTo(...corner(first!));
          for (const point of others) pdf.lineTo(...corner(point));
          pdf.closePath();
        }
        pdf.fill("even-odd");
      });
    },
    write({ text, atMm, sizePt, bold, align = "left", grey = 0, upwards = false, role = "P", continues }) {
      if (!continues || paragraph === undefined) {
        paragraph = pdf.struct(role);
        document.add(paragraph);
      }
      useFont(bold, sizePt);
      const content = pdf.markStructureContent(role);
      ink(grey);
      const [x, y] = [xPt(atMm[0]), yPt(atMm[1])];
      const lengthPt = pdf.widthOfString(text);
      const shift = { left: 0, centre: 0.5, right: 1 }[align] * lengthPt;
      pdf.save();
      if (upwards) pdf.rotate(-90, { origin: [x, y] });
      pdf.text(text, x - shift, y, { lineBreak: false, baseline: "alphabetic" });
      pdf.restore();
      pdf.endMarkedContent();
      paragraph.add(content);
      return lengthPt / ptPerMm;
    },
    wrap(text, maxMm, sizePt, bold) {
      useFont(bold, sizePt);
      const lines: string[] = [];
      for (const word of text.split(" ")) {
        const longer = lines.length > 0 ? `${lines.at(-1)} ${word}` : word;
        if (lines.length > 0 && pdf.widthOfString(longer) <= maxMm * ptPerMm)
          lines[lines.length - 1] = longer;
        else lines.push(word);
      }
      return lines;
    },
    async bytes() {
      document.end();
      pdf.end();
      await ended;
      return Buffer.concat(chunks);
    },
  };
}

const require = createRequire(import.meta.url);

/** A sans font of plain letters, by its weight. */
const readSans = (weight: "400" | "600"): Promise<Buffer> =>
  readFile(require.resolve(`@fontsource/source-sans-3/files/source-sans-3-latin-${weight}-normal.woff`));

/** Whether a file was written by this room (its document information says so). */
export function isOwnPdf(file: Uint8Array): boolean {
  const text = Buffer.from(file.buffer, file.byteOffset, file.byteLength).toString("latin1");
  return text.startsWith("%PDF-") && text.includes(`(${creator})`);
}
