import { tagMarkerSizeMm, tags } from "../../src/mat/index.js";
import { blackCells } from "./marker-print.js";
import type { ScenePart } from "./scene.js";
import type { Solid } from "./solids.js";

/** Reflectance of the print on a tag card at a point of its own frame; undefined where the card is bare. */
export function tagPrintFor(
  parts: readonly ScenePart[],
): (solid: Solid, x: number, y: number) => number | undefined {
  const cells = new Map<number, Uint8Array>();
  parts.forEach((part, i) => {
    if (part.type !== "tag") return;
    const tag = tags.find((t) => t.label === part.tagLabel);
    if (!tag) throw new RangeError(`no tag "${part.tagLabel}"`);
    cells.set(i, blackCells(tag.id));
  });
  return (solid, x, y) => {
    const bits = cells.get(solid.partIndex);
    if (!bits) return undefined;
    const column = Math.floor(((x + tagMarkerSizeMm / 2) * 8) / tagMarkerSizeMm);
    const row = Math.floor(((tagMarkerSizeMm / 2 + tagCentreY - y) * 8) / tagMarkerSizeMm);
    if (column < 0 || row < 0 || column > 7 || row > 7) return undefined;
    return bits[row * 8 + column] === 1 ? 0.042 : undefined;
  };
}

/** The marker sits in the upper part of the card; words go below it. */
export const tagCentreY = 3;
