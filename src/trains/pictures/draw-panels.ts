import type { Movement } from "../movement.js";
import type { MovementResult } from "../result.js";
import type { DoubtResult } from "../weigh-counts.js";
import type { DrawnTrain } from "./drawn-train.js";
import { drawnTrains } from "./drawn-train.js";
import { marksOf } from "./marks.js";
import type { PictureOptions } from "./picture.js";
import { legend, legendHeight, legendWidth, letter, num, svgPicture, text, textWidth } from "./picture.js";
import { drawnSizes, sizesText } from "./sizes.js";

/** What is drawn: trains of a movement, with what is known and doubted of them. */
export interface TrainsToDraw {
  readonly movement: Movement;
  readonly result: Pick<MovementResult, "findings" | "missing">;
  readonly doubt: DoubtResult | undefined;
}

/** One train, its own corner at 0, 0. */
export interface Panel {
  readonly svg: readonly string[];
  readonly title: string;
  readonly width: number;
  readonly height: number;
}

/** A way of drawing trains. */
export interface PanelStyle {
  /** As in "elevation of its trains". */
  readonly name: string;
  readonly description: string;
  /** Radius of the largest wheel in the picture. */
  readonly largestRadius: number;
  readonly drawPanel: (train: DrawnTrain, scale: number) => Panel;
}

const margin = 20;

/** The trains side by side, standing on one line, with heads and legend: an SVG document, black on white. */
export function drawPanels(
  { movement, result, doubt }: TrainsToDraw,
  { name, description, largestRadius, drawPanel }: PanelStyle,
  { bare = false }: PictureOptions,
): string {
  const sizes = drawnSizes(movement);
  const trains = drawnTrains(movement, sizes, marksOf(movement, result, doubt));
  const largest = Math.max(
    ...trains.flatMap(({ arbors }) => arbors.flatMap(({ gears }) => gears.map(({ tip }) => tip))),
    1e-9,
  );
  const scale = largestRadius / largest;
  let left = margin;
  const panels = trains.map((train) => {
    const panel = drawPanel(train, scale);
    const at = left;
    left += panel.width + 2 * margin;
    return { ...panel, at };
  });
  const tallest = Math.max(...panels.map((panel) => panel.height));
  const [headHeight, footHeight] = bare ? [0, 0] : [2 * letter, legendHeight];
  const height = tallest + 2 * margin + headHeight + footHeight;
  const width = bare
    ? left
    : Math.max(left, legendWidth + 2 * margin, textWidth(sizesText(sizes)) + 2 * margin);
  const body = panels.flatMap(({ svg, at, title, height: own }) => [
    `<g transform="translate(${num(at)} ${num(height - margin - footHeight - own)})">`,
    ...svg,
    "</g>",
    ...(bare ? [] : [text(at, margin + letter, title, { bold: true })]),
  ]);
  return svgPicture(`${movement.title ?? "Movement"}: ${name}`, description, width, height, [
    ...body,
    ...(bare ? [] : legend(margin, height - margin - 1.6 * letter, sizesText(sizes))),
  ]);
}
