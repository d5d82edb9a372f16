import { drawingOfSvg } from "../plots/drawing-of-svg.js";
import { shownText } from "../shown-text.js";
import type { PartSheet, TrainPapers } from "../train-papers.js";
import type { Block, FigureBlock, Section } from "./content.js";

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** A cutting sheet for every part that is lost and can be worked out; none where none is. */
export function replacementsSection(papers: TrainPapers | undefined): Section | undefined {
  if (!papers || papers.sheets.length === 0) return undefined;
  return {
    id: "replacements",
    title: "Replacement parts",
    newPage: true,
    blocks: papers.sheets.flatMap(sheetBlocks),
  };
}

function sheetBlocks(sheet: PartSheet): Block[] {
  const title = capital(shownText(sheet.words, { max: 100 }));
  const figure = outlineFigure(sheet, title);
  return [
    { kind: "heading", title },
    { kind: "paragraph", words: [{ bold: sheet.checkFirst }] },
    ...(sheet.warnings.length > 0
      ? [{ kind: "list" as const, items: sheet.warnings.map((said) => [{ said: capital(said) }]) }]
      : []),
    ...(figure ? [figure] : []),
    ...enlargedFigure(sheet, title),
    {
      kind: "facts",
      rows: sheet.rows.map(({ label, value }) => ({
        term: label,
        words: [{ said: shownText(value, { max: 900 }) }],
      })),
    },
  ];
}

/** A small part shows nothing at its true size. */
function enlargedFigure({ outline }: PartSheet, title: string): FigureBlock[] {
  const made = outline && outline.tipDiameterMm < 25 ? drawingOfSvg(outline.svg) : undefined;
  if (!outline || !made) return [];
  const [x, y] = outline.centreMm;
  const side = outline.tipDiameterMm * 1.1;
  const times = [20, 15, 10, 8, 6, 5, 4, 3, 2].find((n) => n * side <= 70) ?? 2;
  return [
    {
      kind: "figure",
      alt: `Outline of ${title}, ${times} times as large.`,
      caption: `${times} times as large; chain line: pitch circle.`,
      box: { x: x - side / 2, y: y - side / 2, width: side, height: side },
      drawing: made.drawing,
      trueWidthMm: times * side,
    },
  ];
}

function outlineFigure({ outline }: PartSheet, title: string): FigureBlock | undefined {
  const made = outline && drawingOfSvg(outline.svg);
  if (!outline || !made) return undefined;
  // Narrower than the page of either paper by its margins.
  const fits = outline.widthMm <= 170 && outline.heightMm <= 200;
  return {
    kind: "figure",
    alt: `Outline of ${title}, with a bar to check the print.`,
    caption: [
      { bold: "Outline. " },
      fits
        ? "At true size when printed at 100 %; the bar shows whether it was."
        : "Too large for this page, so not at true size.",
      " The command train --cutting-sheet writes it as SVG and DXF.",
    ],
    box: { x: 0, y: 0, width: made.width, height: made.height },
    drawing: made.drawing,
    ...(fits ? { trueWidthMm: outline.widthMm } : {}),
  };
}
