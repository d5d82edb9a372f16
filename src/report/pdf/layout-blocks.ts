import {
  plainWords,
  severityWords,
  type Block,
  type FigureBlock,
  type TableBlock,
} from "../content/content.js";
import type { Picture } from "../pictures.js";
import { shownText } from "../shown-text.js";
import { drawSvg } from "./draw-svg.js";
import { faint, ink, rule, soft, styles } from "./pdf-style.js";
import { addStruct, drawTagged, type Piece, type Struct } from "./piece.js";
import { layoutParagraph, layoutRow, type Bench, type Cell } from "./rows.js";

export interface LayoutBench extends Bench {
  readonly pictures: ReadonlyMap<string, Picture>;
  /** Images that stand in the file already, by picture. */
  readonly images: Map<string, unknown>;
  readonly pageHeightPt: number;
}

/** Blocks one below the other, as pieces. */
export const layoutBlocks = (
  bench: LayoutBench,
  blocks: readonly Block[],
  widthPt: number,
  parent: Struct,
): Piece[] => blocks.flatMap((block) => layoutBlock(bench, block, widthPt, parent));

function layoutBlock(bench: LayoutBench, block: Block, widthPt: number, parent: Struct): Piece[] {
  switch (block.kind) {
    case "paragraph":
      return layoutParagraph(bench, block.words, widthPt, parent, {
        ...(block.quiet ? { style: styles.quiet, colour: soft } : {}),
      });
    case "heading":
      return layoutParagraph(bench, shownText(block.title), widthPt, parent, {
        style: styles.h3,
        tag: "H3",
        gapPt: 12,
        keepWithNext: true,
        ...(block.id === undefined ? {} : { id: block.id }),
      });
    case "list":
      return layoutList(bench, block, widthPt, parent);
    case "facts":
      return layoutFacts(bench, block, widthPt, parent);
    case "findings":
      return layoutFindings(bench, block, widthPt, parent);
    case "table":
      return layoutTable(bench, block, widthPt, parent);
    case "figure":
      return layoutFigure(bench, block, widthPt, parent);
    case "pair":
      return layoutPair(bench, block, widthPt, parent);
    case "part": {
      const title = layoutParagraph(bench, block.title, widthPt, parent, {
        style: styles.part,
        tag: "H3",
        gapPt: 18,
        keepWithNext: true,
        id: block.id,
      });
      return [...title, ...layoutBlocks(bench, block.blocks, widthPt, parent)];
    }
    default:
      return block satisfies never;
  }
}

type Kind<K extends Block["kind"]> = Extract<Block, { kind: K }>;

/** A node that is made when its first content is drawn. */
function later(bench: Bench, parent: Struct | (() => Struct), tag: string): () => Struct {
  let struct: Struct | undefined;
  return () => (struct ??= addStruct(bench.pdf, typeof parent === "function" ? parent() : parent, tag));
}

function layoutList(bench: LayoutBench, block: Kind<"list">, widthPt: number, parent: Struct): Piece[] {
  const list = later(bench, parent, "L");
  return block.items.flatMap((words, i) => {
    const cells: Cell[] = [
      { words: block.ordered ? `${i + 1}.` : "–", xPt: 4, widthPt: 14, style: styles.body, tag: "Lbl" },
      { words, xPt: 18, widthPt: widthPt - 18, style: styles.body, tag: "LBody" },
    ];
    return layoutRow(bench, cells, widthPt, later(bench, list, "LI"), { gapPt: i === 0 ? 4 : 1 });
  });
}

/** Term and words: beside each other where there is room, else one above the other. */
function layoutFacts(bench: LayoutBench, block: Kind<"facts">, widthPt: number, parent: Struct): Piece[] {
  const wide = widthPt > 320;
  const termPt = 128;
  return block.rows.flatMap(({ term, words }, i) => {
    const row = later(bench, parent, "Div");
    const below = { colour: faint, widthPt: 0.6 };
    const termCell: Cell = {
      words: term,
      xPt: 0,
      widthPt: wide ? termPt - 10 : widthPt,
      style: styles.term,
      colour: soft,
      tag: "P",
    };
    if (wide) {
      const cell: Cell = { words, xPt: termPt, widthPt: widthPt - termPt, style: styles.body, tag: "P" };
      return layoutRow(bench, [termCell, cell], widthPt, row, { gapPt: i === 0 ? 5 : 0, below });
    }
    const cell: Cell = { words, xPt: 0, widthPt, style: styles.body, tag: "P" };
    return [
      ...layoutRow(bench, [termCell], widthPt, row, { padPt: 0, gapPt: i === 0 ? 4 : 3, keepWithNext: true }),
      ...layoutRow(bench, [cell], widthPt, row, { padPt: 0.8, below }),
    ];
  });
}

function layoutFindings(
  bench: LayoutBench,
  block: Kind<"findings">,
  widthPt: number,
  parent: Struct,
): Piece[] {
  const list = later(bench, parent, "L");
  return block.items.flatMap((item, i) => {
    const black = item.severity === "fault";
    const words = typeof item.words === "string" ? [item.words] : item.words;
    const cells: Cell[] = [
      {
        words: severityWords[item.severity],
        xPt: 0,
        widthPt: 38,
        style: styles.badge,
        tag: "Lbl",
        badge: black ? "black" : item.severity === "watch" ? "ruled" : "light",
        colour: black ? "#ffffff" : ink,
      },
      {
        words: item.evidence
          ? [
              ...words,
              "  ",
              { to: item.evidence.to, text: `See ${item.evidence.text}`.replaceAll(" ", "\u00a0") },
            ]
          : words,
        xPt: 47,
        widthPt: widthPt - 47,
        style: styles.body,
        tag: "LBody",
      },
    ];
    return layoutRow(bench, cells, widthPt, later(bench, list, "LI"), {
      gapPt: i === 0 ? 5 : 0,
      padPt: 2.4,
      below: { colour: faint, widthPt: 0.6 },
    });
  });
}

const cellGapPt = 9;

/** Widths as asked for; columns that ask for nothing share what is left. */
function columnWidths(block: TableBlock, widthPt: number): number[] {
  const asked = block.columns.map((c) => c.width);
  const given = asked.reduce((sum: number, w) => sum + (w ?? 0), 0);
  const open = asked.filter((w) => w === undefined).length;
  const share = open > 0 ? Math.max(0, 1 - given) / open : 0;
  const total = given + share * open;
  return asked.map((w) => ((w ?? share) / total) * widthPt);
}

function layoutTable(bench: LayoutBench, block: TableBlock, widthPt: number, parent: Struct): Piece[] {
  const table = later(bench, parent, "Table");
  const widths = columnWidths(block, widthPt);
  const style = block.small ? styles.cellSmall : styles.cell;
  const starts = widths.map((_, i) => widths.slice(0, i).reduce((a, b) => a + b, 0));
  const last = widths.length - 1;
  const cellAt = (i: number): Pick<Cell, "xPt" | "widthPt"> => ({
    xPt: starts[i]!,
    widthPt: widths[i]! - (i === last ? 0 : cellGapPt),
  });
  const align = (i: number): { align: "left" | "right" } => ({ align: block.columns[i]!.align ?? "left" });
  const caption = layoutRow(
    bench,
    [{ words: block.caption, xPt: 0, widthPt, style: styles.tableCaption, tag: "Caption" }],
    widthPt,
    table,
    { gapPt: 12, keepWithNext: true },
  );
  const head = layoutRow(
    bench,
    block.columns.map((column, i): Cell => ({
      words: column.head,
      ...cellAt(i),
      ...align(i),
      style: styles.head,
      tag: "TH",
      scope: "Column",
    })),
    widthPt,
    later(bench, table, "TR"),
    {
      above: { colour: ink, widthPt: 1 },
      below: { colour: ink, widthPt: 0.6 },
      keepWithNext: true,
      padPt: 2.4,
    },
  );
  const rows = block.rows.flatMap((row, r) =>
    layoutRow(
      bench,
      row.map((words, i): Cell => ({
        words,
        ...cellAt(i),
        ...align(i),
        style,
        ...(i === 0 ? { tag: "TH" as const, scope: "Row" as const } : { tag: "TD" as const }),
      })),
      widthPt,
      later(bench, table, "TR"),
      {
        ...(head[0] ? { head: head[0] } : {}),
        below: r === block.rows.length - 1 ? { colour: ink, widthPt: 1 } : { colour: faint, widthPt: 0.6 },
      },
    ),
  );
  return [...caption, ...head, ...rows];
}

function layoutFigure(bench: LayoutBench, block: FigureBlock, widthPt: number, parent: Struct): Piece[] {
  const { pdf, fonts } = bench;
  const { box } = block;
  const scale = figureScale(block, widthPt, bench.pageHeightPt);
  const [w, h] = [box.width * scale, box.height * scale];
  const picture = block.picture === undefined ? undefined : bench.pictures.get(block.picture);
  const figure: Piece = {
    heightPt: h,
    gapPt: 8,
    keepWithNext: true,
    ...(block.id === undefined ? {} : { id: block.id }),
    draw: (x, y) => {
      const struct = addStruct(pdf, parent, "Figure", { alt: shownText(block.alt, { max: 400 }) });
      drawTagged(pdf, struct, "Figure", () => {
        pdf.save();
        pdf.rect(x, y, w, h).clip();
        pdf.translate(x, y).scale(scale).translate(-box.x, -box.y);
        if (picture) drawPicture(bench, block.picture!, picture);
        drawSvg(pdf, fonts, block.drawing);
        pdf.restore();
        if (picture) pdf.lineWidth(0.5).strokeColor(rule).rect(x, y, w, h).stroke();
      });
    },
  };
  const caption = layoutParagraph(bench, block.caption, widthPt, parent, {
    style: styles.caption,
    colour: soft,
    tag: "Caption",
    gapPt: 4,
  });
  return [
    figure,
    ...caption.map((piece, i) => (i < caption.length - 1 ? { ...piece, keepWithNext: true } : piece)),
  ];
}

/** Points to a unit of the drawing. */
function figureScale(
  { box, width, trueWidthMm }: FigureBlock,
  widthPt: number,
  pageHeightPt: number,
): number {
  if (trueWidthMm !== undefined) {
    const wanted = (trueWidthMm * 72) / 25.4 / box.width;
    return Math.min(wanted, widthPt / box.width, (pageHeightPt * 0.8) / box.height);
  }
  return Math.min((widthPt * (width ?? 1)) / box.width, (pageHeightPt * 0.42) / box.height);
}

/** Part of pdfkit's documented interface that its type package lacks. */
type PdfWithImages = LayoutBench["pdf"] & { openImage(data: Buffer): unknown };

function drawPicture({ pdf, images }: LayoutBench, key: string, { jpeg, box }: Picture): void {
  // The same picture a second time takes no room in the file.
  const opened = images.get(key) ?? (pdf as PdfWithImages).openImage(jpeg);
  images.set(key, opened);
  pdf.image(opened as Buffer, box.x, box.y, { width: box.width, height: box.height });
}

/** Two columns side by side as one piece; one below the other if they are too high for a page. */
function layoutPair(bench: LayoutBench, block: Kind<"pair">, widthPt: number, parent: Struct): Piece[] {
  const gutter = 18;
  const leftPt = (widthPt - gutter) * 0.52;
  const columns = [
    { xPt: 0, pieces: layoutBlocks(bench, block.left, leftPt, parent) },
    { xPt: leftPt + gutter, pieces: layoutBlocks(bench, block.right, widthPt - leftPt - gutter, parent) },
  ];
  const heightOf = (pieces: readonly Piece[]): number =>
    pieces.reduce((sum, piece, i) => sum + piece.heightPt + (i === 0 ? 0 : piece.gapPt), 0);
  const heightPt = Math.max(...columns.map(({ pieces }) => heightOf(pieces)));
  if (heightPt > bench.pageHeightPt * 0.75)
    return layoutBlocks(bench, [...block.left, ...block.right], widthPt, parent);
  return [
    {
      heightPt,
      gapPt: 8,
      draw: (x, y) => {
        for (const { xPt, pieces } of columns) {
          let at = y;
          pieces.forEach((piece, i) => {
            if (i > 0) at += piece.gapPt;
            piece.draw(x + xPt, at);
            at += piece.heightPt;
          });
        }
      },
    },
  ];
}

export const titleOf = (block: Kind<"part">): string => plainWords(block.title);
