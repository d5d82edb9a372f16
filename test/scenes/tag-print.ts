import { tagMarkerSizeMm, tags } from "../../src/mat/index.js";
import { blackCells } from "./marker-print.js";
import type { ScenePart } from "./scene.js";
import { isInked } from "./small-type.js";
import type { Solid } from "./solids.js";

/** Size of a cut-out card; its frame's origin is its middle. */
export const tagCardMm = [31, 16] as const;
const markerX = -tagCardMm[0] / 2 + 3 + tagMarkerSizeMm / 2;

/** Reflectance of the print on a tag card at a point of its own frame; undefined where the card is bare. */
export function tagPrintFor(
  parts: readonly ScenePart[],
): (solid: Solid, x: number, y: number) => number | undefined {
  const prints = new Map<number, { cells: Uint8Array; lines: readonly string[] }>();
  parts.forEach((part, i) => {
    if (part.type !== "tag") return;
    const tag = tags.find((t) => t.label === part.tagLabel);
    if (!tag) throw new RangeError(`no tag "${part.tagLabel}"`);
    prints.set(i, { cells: blackCells(tag.id), lines: tag.words.split(/, |: /) });
  });
  const labels = parts.map((part) => (part.type === "tag" ? part.tagLabel : ""));
  return (solid, x, y) => {
    const print = prints.get(solid.partIndex);
    if (!print) return undefined;
    const column = Math.floor(((x - markerX + tagMarkerSizeMm / 2) * 8) / tagMarkerSizeMm);
    const row = Math.floor(((tagMarkerSizeMm / 2 - y) * 8) / tagMarkerSizeMm);
    if (column >= 0 && row >= 0 && column < 8 && row < 8) {
      return print.cells[row * 8 + column] === 1 ? toner : undefined;
    }
    const textX = markerX + tagMarkerSizeMm / 2 + 1.8;
    if (isDot(labels[solid.partIndex]!, x - textX, y - 2, 0.65)) return toner;
    return print.lines.some((line, i) => isDot(line, x - textX, y + 0.7 + 2.05 * i, 0.28))
      ? toner
      : undefined;
  };
}

const toner = 0.042;

const isDot = (text: string, x: number, y: number, dotMm: number): boolean =>
  isInked(text, Math.floor(x / dotMm), 4 - Math.floor(y / dotMm));
