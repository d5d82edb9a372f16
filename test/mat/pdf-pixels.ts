import { PDFiumLibrary } from "@hyzyla/pdfium";
import type { PointOnSheetMm } from "../../src/mat/index.js";

/** The first page of a PDF as another program (PDFium) shows it. */
export interface PdfPixels {
  readonly pages: number;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly text: string;
  readonly width: number;
  readonly height: number;
  /** 0 black to 255 white. */
  readonly grey: Uint8Array;
  readonly pxPerMm: number;
  /** Mean darkness (0 to 1) times area, mm², between two corners given in mm from the middle of the page, y up. */
  inkMm2(fromMm: PointOnSheetMm, toMm: PointOnSheetMm): number;
  /** Lightest and darkest pixel that lies wholly between two corners. */
  range(
    fromMm: PointOnSheetMm,
    toMm: PointOnSheetMm,
  ): { readonly darkest: number; readonly lightest: number };
}

let library: Promise<PDFiumLibrary> | undefined;

/** @param pxPerMm such that the page has a whole number of pixels each way. */
export async function showPdf(
  bytes: Uint8Array,
  widthMm: number,
  heightMm: number,
  pxPerMm: number,
): Promise<PdfPixels> {
  library ??= PDFiumLibrary.init();
  const document = await (await library).loadDocument(bytes);
  try {
    const page = document.getPage(0);
    const text = page.getText();
    const size = page.getOriginalSize();
    const width = Math.round(widthMm * pxPerMm);
    const height = Math.round(heightMm * pxPerMm);
    const { data: grey } = await page.render({
      scale: 1,
      width,
      height,
      render: "bitmap",
      colorSpace: "Gray",
    });
    const rows = (fromMm: PointOnSheetMm, toMm: PointOnSheetMm) => ({
      left: width / 2 + fromMm[0] * pxPerMm,
      right: width / 2 + toMm[0] * pxPerMm,
      top: height / 2 - toMm[1] * pxPerMm,
      bottom: height / 2 - fromMm[1] * pxPerMm,
    });
    return {
      pages: document.getPageCount(),
      widthMm: (size.originalWidth * 25.4) / 72,
      heightMm: (size.originalHeight * 25.4) / 72,
      text,
      width,
      height,
      grey,
      pxPerMm,
      inkMm2(fromMm, toMm) {
        const { left, right, top, bottom } = rows(fromMm, toMm);
        let ink = 0;
        for (let row = Math.floor(top); row < bottom; row++) {
          const partOfRow = Math.min(bottom, row + 1) - Math.max(top, row);
          for (let column = Math.floor(left); column < right; column++) {
            const partOfColumn = Math.min(right, column + 1) - Math.max(left, column);
            ink += partOfRow * partOfColumn * (1 - grey[row * width + column]! / 255);
          }
        }
        return ink / pxPerMm ** 2;
      },
      range(fromMm, toMm) {
        const { left, right, top, bottom } = rows(fromMm, toMm);
        let [darkest, lightest] = [255, 0];
        // A thousandth of a pixel for rounding in the figures above.
        for (let row = Math.ceil(top - 1e-3); row + 1 <= bottom + 1e-3; row++) {
          for (let column = Math.ceil(left - 1e-3); column + 1 <= right + 1e-3; column++) {
            const level = grey[row * width + column]!;
            darkest = Math.min(darkest, level);
            lightest = Math.max(lightest, level);
          }
        }
        return { darkest, lightest };
      },
    };
  } finally {
    document.destroy();
  }
}
