import { cellFromPhoto, type ClassMap } from "../../segment/index.js";
import type { Foreground } from "./foreground.js";
import type { SmallPicture } from "./small-picture.js";

/** The network says metal rather than not; of 255. */
const metalFrom = 128;

/** Metal as the network sees it: `classes` must be of the small picture itself. */
export function foregroundFromClasses(
  { width, height }: SmallPicture,
  classes: ClassMap,
  where: Uint8Array,
): Foreground {
  const mask = new Uint8Array(width * height);
  const across = Int32Array.from({ length: width }, (_, i) => nearestCell(classes.factorX, i, classes.width));
  for (let j = 0, p = 0; j < height; j++) {
    const row = classes.width * nearestCell(classes.factorY, j, classes.height);
    for (let i = 0; i < width; i++, p++)
      if (where[p] && classes.metal[row + across[i]!]! >= metalFrom) mask[p] = 255;
  }
  return { reason: "network", mask, shadowy: false };
}

const nearestCell = (factor: number, u: number, cells: number): number =>
  Math.min(cells - 1, Math.max(0, Math.round(cellFromPhoto(factor, u))));
