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
  const box = boxRound(patch.contour, picture);
  const { i0, j0, width, height } = box;
  const start = (patch.contour[1]! - j0) * width + patch.contour[0]! - i0;
  const mask = connected(closeGaps(within(box, foreground.mask, picture.width), width, height), box, start);
  for (const outline of known)
    fillPolygon(
      mask,
      box,
      outline.map(([i, j]) => [i - i0, j - j0] as const),
      0,
    );
  const opened = spread(spread(mask, width, height, least, 0), width, height, least, 255);
  return findPatches(box, { mask: opened }, least).map((piece) => ({
    ...piece,
    contour: movedBy(piece.contour, i0, j0),
    hull: movedBy(piece.hull, i0, j0),
  }));
}

interface Box {
  readonly i0: number;
  readonly j0: number;
  readonly width: number;
  readonly height: number;
}

/** Closing gaps looks two pixels far; what lies further from the patch has no part in it. */
const beyondPatch = 3;

function boxRound(contour: Int32Array, { width, height }: SmallPicture): Box {
  let [left, right, top, bottom] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let k = 0; k < contour.length; k += 2) {
    left = Math.min(left, contour[k]!);
    right = Math.max(right, contour[k]!);
    top = Math.min(top, contour[k + 1]!);
    bottom = Math.max(bottom, contour[k + 1]!);
  }
  const i0 = Math.max(0, left - beyondPatch);
  const j0 = Math.max(0, top - beyondPatch);
  return {
    i0,
    j0,
    width: Math.min(width - 1, right + beyondPatch) - i0 + 1,
    height: Math.min(height - 1, bottom + beyondPatch) - j0 + 1,
  };
}

function within({ i0, j0, width, height }: Box, mask: Uint8Array, rowLength: number): Uint8Array {
  const out = new Uint8Array(width * height);
  for (let j = 0; j < height; j++) {
    const from = (j0 + j) * rowLength + i0;
    out.set(mask.subarray(from, from + width), j * width);
  }
  return out;
}

const movedBy = (points: Int32Array, i0: number, j0: number): Int32Array =>
  points.map((v, k) => v + (k % 2 === 0 ? i0 : j0));

/** The piece of a mask that a point of its border belongs to. */
function connected(mask: Uint8Array, { width, height }: Box, start: number): Uint8Array {
  const out = new Uint8Array(mask.length);
  const stack = [start];
  out[start] = 255;
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
  const along = spreadLines(mask, width, 1, height, width, reach, value);
  return spreadLines(along, height, width, width, 1, reach, value);
}

/** Lines of `count` pixels, `step` apart; the next line begins `next` pixels further. */
function spreadLines(
  mask: Uint8Array,
  count: number,
  step: number,
  lines: number,
  next: number,
  reach: number,
  value: 0 | 255,
): Uint8Array {
  const out = mask.slice();
  for (let line = 0; line < lines; line++) {
    // So far back that it reaches nothing.
    let last = -2 * reach - 1;
    for (let k = 0; k < count + reach; k++) {
      if (k < count && mask[line * next + k * step] === value) last = k;
      const at = k - reach;
      if (at >= 0 && last >= at - reach) out[line * next + at * step] = value;
    }
  }
  return out;
}
