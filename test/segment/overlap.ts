import { photoFromCell } from "../../src/segment/index.js";
import type { Segmenter } from "../../src/segment/index.js";
import { renderScene, sceneOfKind } from "../scenes/index.js";
import type { PictureSize, SceneKind } from "../scenes/index.js";

/** Cells that are metal in both and in either of what was found and what is there. */
export interface Overlap {
  readonly both: number;
  readonly either: number;
}

/** Metal found against metal there, of one rendered photograph; a cell's truth is that of the pixel at its centre. */
export async function overlapOf(
  segmenter: Segmenter,
  kind: SceneKind,
  seed: number,
  size: PictureSize,
): Promise<Overlap> {
  const { rgb, widthPx, heightPx, mask } = renderScene(sceneOfKind(kind, seed, size), seed);
  const map = await segmenter.classify({ widthPx, heightPx, rgb });
  let both = 0;
  let either = 0;
  for (let j = 0; j < map.height; j++)
    for (let i = 0; i < map.width; i++) {
      const u = Math.round(photoFromCell(map.factorX, i));
      const v = Math.round(photoFromCell(map.factorY, j));
      const truth = mask[v * widthPx + u]!;
      const isMetal = truth === 1 || truth === 2;
      const found = map.metal[j * map.width + i]! >= 128;
      if (isMetal && found) both++;
      if (isMetal || found) either++;
    }
  return { both, either };
}
