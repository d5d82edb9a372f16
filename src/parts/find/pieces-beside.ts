import { closeGaps } from "./close-gaps.js";
import type { Foreground } from "./foreground.js";
import { findPatches, type Patch } from "./patches.js";
import type { SmallPicture } from "./small-picture.js";
import { fillPolygon } from "./where-to-look.js";

/**
 * What hangs on to known parts: the pieces that are left of a patch of metal when the parts that explain it are taken
 * away. Strips narrower than twice `least` (the shine round a rim, the end of an arbor) are no pieces.
 *
 * @param known convex outlines of the known parts, with a margin, small pixels. @param least in small pixels.
 */
export function piecesBeside(
  picture: SmallPicture,
  foreground: Foreground,
  patch: Patch,
  known: readonly (readonly (readonly [number, number])[])[],
  least: number,
): Patch[] {
  const { width, height } = picture;
  const mask = connected(closeGaps(foreground.mask, width, height), width, height, patch.contour);
  for (const outline of known) fillPolygon(mask, picture, outline, 0);
  const opened = spread(spread(mask, width, height, least, 0), width, height, least, 255);
  return findPatches(picture, { mask: opened }, least);
}

/** The piece of a mask that a point of its border belongs to. */
function connected(mask: Uint8Array, width: number, height: number, [i0, j0]: Int32Array): Uint8Array {
  const out = new Uint8Array(mask.length);
  const stack = [j0! * width + i0!];
  out[stack[0]!] = 255;
  while (stack.length > 0) {
    const p = stack.pop()!;
    const [i, j] = [p % width, Math.floor(p / width)];
    for (let v = Math.max(0, j - 1); v <= Math.min(height - 1, j + 1); v++)
      for (let u = Math.max(0, i - 1); u <= Math.min(width - 1, i + 1); u++) {
        const q = v * width + u;
        if (mask[q] === 0 || out[q] !== 0) continue;
        out[q] = 255;
        stack.push(q);
      }
  }
  return out;
}

/** Every pixel that has one of this value within `reach` pixels, along and down, takes it. */
function spread(mask: Uint8Array, width: number, height: number, reach: number, value: 0 | 255): Uint8Array {
  const pass = (from: Uint8Array, count: number, step: number, lines: number, next: number): Uint8Array => {
    const out = from.slice();
    for (let line = 0; line < lines; line++) {
      let last = -Infinity;
      for (let k = 0; k < count + reach; k++) {
        if (k < count && from[line * next + k * step] === value) last = k;
        const at = k - reach;
        if (at >= 0 && last >= at - reach) out[line * next + at * step] = value;
      }
    }
    return out;
  };
  return pass(pass(mask, width, 1, height, width), height, width, width, 1);
}
