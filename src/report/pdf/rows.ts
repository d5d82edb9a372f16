import { ink, leading, soft, styles } from "./pdf-style.js";
import type { Inline, Words } from "../content/content.js";
import { shownText } from "../shown-text.js";
import type { Pdf, PdfFonts, TextStyle } from "./pdf-fonts.js";
import { addStruct, drawArtifact, drawTagged, type Piece, type Struct } from "./piece.js";
import { breakLines, type Line, type Span } from "./text-lines.js";

/** What every layout function needs. */
export interface Bench {
  readonly pdf: Pdf;
  readonly fonts: PdfFonts;
}

export const lineHeight = (style: TextStyle): number => style.sizePt * leading;

/** Where the base line lies in a line, from its top. */
const baseOf = (style: TextStyle): number => (lineHeight(style) - style.sizePt) / 2 + style.sizePt * 0.8;

/** Words in their dress. Text from outside is made harmless here, as in the HTML. */
export function spansOf(words: Words, style: TextStyle, colour: string = ink): Span[] {
  const bold: TextStyle = { ...style, face: "bold" };
  const one = (w: Inline): Span => {
    if (typeof w === "string") return { text: w, style, colour };
    if ("bold" in w) return { text: shownText(w.bold), style: bold, colour };
    if ("said" in w) return { text: shownText(w.said, { max: 20_000, lines: true }), style, colour };
    if ("code" in w)
      return {
        text: w.code,
        style: { family: "mono", face: "regular", sizePt: style.sizePt * 0.84 },
        colour,
      };
    return { text: shownText(w.text), style, colour, to: w.to };
  };
  return typeof words === "string" ? [one(words)] : words.map(one);
}

/** Writes a line; its base line lies where a line of this style has it below `topPt`. */
export function drawLine(
  { pdf, fonts }: Bench,
  line: Line,
  xPt: number,
  topPt: number,
  style: TextStyle,
): void {
  const height = lineHeight(style);
  const base = topPt + baseOf(style);
  for (const span of line.spans) {
    let x = xPt + span.xPt;
    pdf.fillColor(span.colour);
    for (const run of fonts.runsOf(span.text, span.style)) {
      pdf.font(run.font).fontSize(span.style.sizePt);
      pdf.text(run.text, x, base, { lineBreak: false, baseline: "alphabetic" });
      x += pdf.widthOfString(run.text);
    }
    if (span.to === undefined) continue;
    const [from, to] = [xPt + span.xPt + span.leadPt, xPt + span.xPt + span.widthPt];
    pdf.goTo(from, topPt, to - from, height, span.to);
    pdf.lineWidth(0.4).strokeColor(soft);
    pdf
      .moveTo(from, base + 1.6)
      .lineTo(to, base + 1.6)
      .stroke();
  }
}

export interface Cell {
  readonly words: Words;
  readonly xPt: number;
  readonly widthPt: number;
  readonly style: TextStyle;
  readonly align?: "left" | "right";
  readonly colour?: string;
  readonly tag: "TH" | "TD" | "P" | "LBody" | "Lbl" | "H2" | "H3" | "Caption";
  readonly scope?: "Row" | "Column";
  /** Drawn behind the first line: a badge. */
  readonly badge?: "black" | "ruled" | "light";
}

export interface RowOptions {
  readonly gapPt?: number;
  readonly padPt?: number;
  /** Rule below (or above) the row. */
  readonly below?: { readonly colour: string; readonly widthPt: number };
  readonly above?: { readonly colour: string; readonly widthPt: number };
  readonly keepWithNext?: boolean;
  readonly head?: Piece;
  readonly id?: string;
}

/** Lines of a row that stay together; a longer one (ten thousand characters) goes on to the next page. */
const longestSlice = 28;

/**
 * A row of cells side by side, as one piece, or several if it is very high.
 *
 * @param parent the node that gets the row; made when the first piece is drawn, so that the order is that of
 *   reading.
 */
export function layoutRow(
  bench: Bench,
  cells: readonly Cell[],
  widthPt: number,
  parent: () => Struct,
  options: RowOptions = {},
): Piece[] {
  const { pdf } = bench;
  const { padPt = 1.6, gapPt = 0 } = options;
  const laid = cells.map((cell) => ({
    cell,
    lines: breakLines(spansOf(cell.words, cell.style, cell.colour), cell.widthPt, bench.fonts),
    struct: undefined as Struct | undefined,
  }));
  const most = Math.max(...laid.map(({ lines }) => lines.length));
  const slices = Math.ceil(most / longestSlice);
  // First lines share one base line, whatever their sizes.
  const lowest = Math.max(...cells.map(({ style }) => baseOf(style)));
  const sink = (cell: Cell): number => lowest - baseOf(cell.style);
  return Array.from({ length: slices }, (_, k): Piece => {
    const from = k * longestSlice;
    const height = Math.max(
      ...laid.map(
        ({ cell, lines }) =>
          Math.min(longestSlice, Math.max(0, lines.length - from)) * lineHeight(cell.style) + sink(cell),
      ),
    );
    const last = k === slices - 1;
    const heightPt = height + (k === 0 ? padPt : 0) + (last ? padPt : 0);
    return {
      heightPt,
      gapPt: k === 0 ? gapPt : 0,
      ...(options.keepWithNext ? { keepWithNext: true } : {}),
      ...(options.head ? { head: options.head } : {}),
      ...(options.id !== undefined && k === 0 ? { id: options.id } : {}),
      draw: (x, y, again = false) => {
        const top = y + (k === 0 ? padPt : 0);
        let row: Struct | undefined;
        for (const entry of laid) {
          const { cell, lines } = entry;
          const write = (): void => {
            if (cell.badge && k === 0) drawBadge(bench, cell, x, top + sink(cell), lines[0]!);
            lines.slice(from, from + longestSlice).forEach((line, i) => {
              const shift =
                cell.align === "right"
                  ? cell.widthPt - line.widthPt
                  : cell.badge
                    ? (cell.widthPt - line.widthPt) / 2
                    : 0;
              drawLine(
                bench,
                line,
                x + cell.xPt + shift,
                top + sink(cell) + i * lineHeight(cell.style),
                cell.style,
              );
            });
          };
          if (again) {
            drawArtifact(pdf, write);
          } else {
            row ??= parent();
            entry.struct ??= addStruct(
              pdf,
              row,
              cell.tag,
              cell.scope === undefined ? {} : { scope: cell.scope },
            );
            drawTagged(pdf, entry.struct, cell.tag, write);
          }
        }
        drawArtifact(pdf, () => {
          const line = (at: number, { colour, widthPt: w }: { colour: string; widthPt: number }): void => {
            pdf
              .lineWidth(w)
              .strokeColor(colour)
              .moveTo(x, at)
              .lineTo(x + widthPt, at)
              .stroke();
          };
          if (options.above && k === 0) line(y, options.above);
          if (options.below && last) line(y + heightPt, options.below);
        });
      },
    };
  });
}

function drawBadge({ pdf }: Bench, cell: Cell, x: number, top: number, line: Line): void {
  const { sizePt } = cell.style;
  // Its middle is that of the capitals, which are about two thirds of the size high.
  const height = 1.45 * sizePt;
  const y = top + baseOf(cell.style) - sizePt / 3 - height / 2;
  const box = [x + cell.xPt + 0.5, y, Math.max(cell.widthPt - 1, line.widthPt), height] as const;
  pdf.lineWidth(0.9);
  if (cell.badge === "black") pdf.rect(...box).fillAndStroke(ink, ink);
  else pdf.rect(...box).stroke(cell.badge === "ruled" ? ink : "#b9b2a3");
}

/** Running text: its lines may part at the foot of a page, two and two. */
export function layoutParagraph(
  bench: Bench,
  words: Words,
  widthPt: number,
  parent: Struct,
  options: {
    readonly style?: TextStyle;
    readonly colour?: string;
    readonly tag?: "P" | "H1" | "H2" | "H3" | "Caption";
    readonly gapPt?: number;
    readonly keepWithNext?: boolean;
    readonly id?: string;
  } = {},
): Piece[] {
  const { pdf, fonts } = bench;
  const { style = styles.body, colour = ink, tag = "P", gapPt = 5 } = options;
  const lines = breakLines(spansOf(words, style, colour), widthPt, fonts);
  let struct: Struct | undefined;
  return lines.map((line, i): Piece => {
    // No single first or last line.
    const holds = options.keepWithNext === true || (lines.length > 1 && (i === 0 || i === lines.length - 2));
    return {
      heightPt: lineHeight(style),
      gapPt: i === 0 ? gapPt : 0,
      ...(holds ? { keepWithNext: true } : {}),
      ...(options.id !== undefined && i === 0 ? { id: options.id } : {}),
      draw: (x, y) => {
        struct ??= addStruct(pdf, parent, tag);
        drawTagged(pdf, struct, tag, () => drawLine(bench, line, x, y, style));
      },
    };
  });
}
