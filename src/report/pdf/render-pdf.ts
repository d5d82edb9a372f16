import type { ReportContent, Section } from "../content/content.js";
import { plainWords } from "../content/content.js";
import type { Picture } from "../pictures.js";
import { shownText } from "../shown-text.js";
import type { Paper } from "../html/style.js";
import { layoutBlocks, type LayoutBench } from "./layout-blocks.js";
import { openPdfFonts, type Pdf, type TextStyle } from "./pdf-fonts.js";
import { ink, margins, pageSizes, soft, styles } from "./pdf-style.js";
import { addStruct, drawArtifact, type Piece, type Struct } from "./piece.js";
import { drawLine, layoutParagraph, spansOf } from "./rows.js";
import { breakLines } from "./text-lines.js";

export interface PdfOptions {
  /** Size of the page; default A4. */
  readonly paper?: Paper;
  /** When the report was made; stands in the file's properties. */
  readonly madeAt: Date;
  readonly software: string;
}

/**
 * The report as a PDF: the same content as the HTML. Tagged, searchable, with embedded fonts, bookmarks, links and
 * page numbers.
 */
export async function renderPdf(
  content: ReportContent,
  pictures: ReadonlyMap<string, Picture>,
  options: PdfOptions,
): Promise<Buffer> {
  const { default: PdfDocument } = await import("pdfkit");
  const [width, height] = pageSizes[options.paper ?? "a4"];
  const pdf = new PdfDocument({
    size: [width, height],
    // The flow below places everything; pdfkit must never turn a page by itself.
    margins: { left: 0, right: 0, top: 0, bottom: 0 },
    autoFirstPage: false,
    bufferPages: true,
    tagged: true,
    pdfVersion: "1.7",
    lang: "en",
    displayTitle: true,
    info: {
      Title: shownText(content.title),
      Subject: content.subtitle,
      Creator: options.software,
      Producer: options.software,
      CreationDate: options.madeAt,
      ModDate: options.madeAt,
    },
  });
  const done = collect(pdf);
  const fonts = await openPdfFontsOnPage(pdf, [width, height]);
  const bench: LayoutBench = {
    pdf,
    fonts,
    pictures,
    images: new Map(),
    pageHeightPt: height - margins.top - margins.bottom,
  };
  const root = pdf.struct("Document");
  pdf.addStructure(root);
  const flow = new Flow(pdf, height);
  const inner = width - margins.left - margins.right;
  titlePage(bench, flow, content, inner, root);
  const contents = layoutContents(bench, content.sections, inner, root);
  flow.place(contents.pieces);
  content.sections.forEach((section, i) => {
    // The summary is one page of its own.
    if (i === 0 || section.newPage) flow.newPage();
    const sect = addStruct(pdf, root, "Sect");
    const title = layoutParagraph(bench, `${i + 1}  ${section.title}`, inner, sect, {
      style: styles.h2,
      tag: "H2",
      gapPt: 26,
      keepWithNext: true,
      id: section.id,
    });
    const [first, ...rest] = title;
    const marked: Piece = {
      ...first!,
      draw: (x, y) => {
        contents.pageOf.set(section.id, flow.pageNumber);
        bookmark(pdf, section);
        first!.draw(x, y);
      },
    };
    flow.place([marked, ...rest, ...layoutBlocks(bench, section.blocks, inner, sect)]);
  });
  root.end();
  finishPages(bench, content, contents, [width, height]);
  pdf.end();
  return done;
}

function collect(pdf: Pdf): Promise<Buffer> {
  return new Promise((resolve, reject) => {
    const chunks: Buffer[] = [];
    pdf.on("data", (chunk: Buffer) => chunks.push(chunk));
    pdf.on("end", () => resolve(Buffer.concat(chunks)));
    pdf.on("error", reject);
  });
}

async function openPdfFontsOnPage(pdf: Pdf, size: readonly [number, number]) {
  pdf.addPage({ size: [...size], margins: { left: 0, right: 0, top: 0, bottom: 0 } });
  return openPdfFonts(pdf);
}

/** Places pieces down the page and turns it where one has no room. */
class Flow {
  private y: number = margins.top;
  constructor(
    private readonly pdf: Pdf,
    private readonly heightPt: number,
  ) {}

  get pageNumber(): number {
    return this.pdf.bufferedPageRange().count;
  }

  private get bottom(): number {
    return this.heightPt - margins.bottom;
  }

  private get isAtTop(): boolean {
    return this.y === margins.top;
  }

  newPage(): void {
    if (this.isAtTop) return;
    this.pdf.addPage();
    this.y = margins.top;
  }

  place(pieces: readonly Piece[]): void {
    pieces.forEach((piece, i) => {
      if (!this.isAtTop && this.y + piece.gapPt + this.roomFor(pieces, i) > this.bottom) {
        this.newPage();
        // A table that goes on says its columns again.
        if (piece.head && pieces[i - 1]?.head === piece.head) {
          piece.head.draw(margins.left, this.y, true);
          this.y += piece.head.heightPt;
        }
      }
      if (!this.isAtTop) this.y += piece.gapPt;
      if (piece.id !== undefined)
        this.pdf.addNamedDestination(piece.id, "XYZ", margins.left, this.y - 6, null);
      piece.draw(margins.left, this.y);
      this.y += piece.heightPt;
    });
  }

  /** Height of a piece and of all that must stay with it, as far as one page can hold. */
  private roomFor(pieces: readonly Piece[], i: number): number {
    let height = pieces[i]!.heightPt;
    for (let k = i; pieces[k]?.keepWithNext && pieces[k + 1]; k++) {
      const more = height + pieces[k + 1]!.gapPt + pieces[k + 1]!.heightPt;
      if (more > this.bottom - margins.top) break;
      height = more;
    }
    return height;
  }
}

function titlePage(
  bench: LayoutBench,
  flow: Flow,
  content: ReportContent,
  widthPt: number,
  root: Struct,
): void {
  const sect = addStruct(bench.pdf, root, "Sect");
  flow.place([
    ...layoutParagraph(bench, [{ said: content.title }], widthPt, sect, { style: styles.title, tag: "H1" }),
    ...layoutParagraph(bench, content.subtitle, widthPt, sect, {
      style: styles.subtitle,
      colour: soft,
      gapPt: 2,
    }),
    ...(content.notice === undefined
      ? []
      : layoutParagraph(bench, [{ said: content.notice }], widthPt, sect, {
          style: styles.bodyBold,
          gapPt: 12,
        })),
    ...layoutBlocks(bench, [{ kind: "facts", rows: content.facts }], widthPt, sect).map((piece, i) =>
      i === 0 ? { ...piece, gapPt: 14 } : piece,
    ),
    ...(content.cover ? layoutBlocks(bench, [content.cover], widthPt, sect) : []),
  ]);
}

interface Contents {
  readonly pieces: readonly Piece[];
  readonly pageOf: Map<string, number>;
  /** Where the page numbers are still to be written. */
  readonly places: {
    readonly id: string;
    readonly page: number;
    readonly xPt: number;
    readonly yPt: number;
  }[];
}

function layoutContents(
  bench: LayoutBench,
  sections: readonly Section[],
  widthPt: number,
  root: Struct,
): Contents {
  const { pdf } = bench;
  const places: Contents["places"] = [];
  const sect = addStruct(pdf, root, "Sect");
  const heading = layoutParagraph(bench, "Contents", widthPt, sect, {
    style: styles.h3,
    tag: "H3",
    gapPt: 14,
    keepWithNext: true,
  });
  const lines = sections.map((section, i): Piece => {
    const [piece] = layoutParagraph(
      bench,
      [`${i + 1}  `, { to: section.id, text: section.title }],
      widthPt,
      sect,
      {
        gapPt: 1,
      },
    );
    return {
      ...piece!,
      draw: (x, y) => {
        piece!.draw(x, y);
        places.push({ id: section.id, page: pdf.bufferedPageRange().count, xPt: x + widthPt, yPt: y });
      },
    };
  });
  return { pieces: [...heading, ...lines], pageOf: new Map(), places };
}

function bookmark(pdf: Pdf, section: Section): void {
  const item = pdf.outline.addItem(section.title);
  for (const block of section.blocks)
    if (block.kind === "part") item.addItem(plainWords(block.title).replace(/\s+/g, " "));
}

/** What can only be written once the number of pages is known. */
function finishPages(
  bench: LayoutBench,
  content: ReportContent,
  { places, pageOf }: Contents,
  [width, height]: readonly [number, number],
): void {
  const { pdf, fonts } = bench;
  const { start, count } = pdf.bufferedPageRange();
  const rightAligned = (text: string, xPt: number, yPt: number, style: TextStyle): void => {
    const [line] = breakLines(spansOf(text, style, style === styles.foot ? soft : ink), width, fonts);
    drawLine(bench, line!, xPt - line!.widthPt, yPt, style);
  };
  for (let page = start; page < start + count; page++) {
    pdf.switchToPage(page);
    drawArtifact(pdf, () => {
      const y = height - margins.bottom + 22;
      const [foot] = breakLines(
        spansOf(shownText(content.foot, { max: 90 }), styles.foot, soft),
        width * 0.72,
        fonts,
      );
      drawLine(bench, foot!, margins.left, y, styles.foot);
      rightAligned(`${page - start + 1} / ${count}`, width - margins.right, y, styles.foot);
      if (content.notice !== undefined) {
        const [notice] = breakLines(
          spansOf(shownText(content.notice, { max: 110 }), styles.foot, ink),
          width * 0.8,
          fonts,
        );
        drawLine(bench, notice!, margins.left, 22, styles.foot);
      }
      for (const place of places) {
        const number = pageOf.get(place.id);
        if (place.page === page - start + 1 && number !== undefined)
          rightAligned(`${number}`, place.xPt, place.yPt, styles.body);
      }
    });
  }
}
