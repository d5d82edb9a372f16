import type { Photo } from "../photo/index.js";
import type { PixelWeights } from "./contrast.js";

/** Pixels uFrom..uFrom + width - 1 and vFrom..vFrom + height - 1. */
export interface PixelBox {
  readonly uFrom: number;
  readonly vFrom: number;
  readonly width: number;
  readonly height: number;
}

/** Of each row of a box, the pixels that are needed: from..to, but for holeFrom..holeTo between them. */
export interface NeededPixels {
  readonly box: PixelBox;
  /** Pixels of the photograph, one of each a row; from > to where the row is not needed, holeFrom > holeTo without hole. */
  readonly from: Int32Array;
  readonly to: Int32Array;
  readonly holeFrom: Int32Array;
  readonly holeTo: Int32Array;
}

/** The signal of a contrast over a box, row-major; only where it was asked for. */
export interface SignalPatch extends PixelBox {
  readonly signal: Float32Array;
}

/** What of a patch is worked out, in strips of pixels: a ring leaves most of its box alone. */
interface GrowingPatch extends SignalPatch {
  readonly photo: Photo;
  readonly stripsARow: number;
  readonly done: Uint8Array;
}

const stripBits = 4;

/** A part is looked at many times over the same pixels: the last patch of each contrast is kept as long as it. */
const kept = new WeakMap<PixelWeights, GrowingPatch>();

/** The signal over at least these pixels, as far as they lie in the picture. */
export function signalOver(photo: Photo, contrast: PixelWeights, needed: NeededPixels): SignalPatch {
  const before = kept.get(contrast);
  let patch = before?.photo === photo ? before : undefined;
  if (patch === undefined || !holds(patch, needed.box)) {
    patch = emptyPatch(photo, patch === undefined ? widened(photo, needed.box) : around(patch, needed.box));
    kept.set(contrast, patch);
  }
  workOut(patch, contrast, needed);
  return patch;
}

function emptyPatch(photo: Photo, { uFrom, vFrom, width, height }: PixelBox): GrowingPatch {
  const stripsARow = (width >> stripBits) + 1;
  return {
    photo,
    uFrom,
    vFrom,
    width,
    height,
    signal: new Float32Array(width * height),
    stripsARow,
    done: new Uint8Array(stripsARow * height),
  };
}

function workOut(patch: GrowingPatch, weights: PixelWeights, needed: NeededPixels): void {
  const { uFrom, vFrom, width, stripsARow, done, signal } = patch;
  const { rgb, widthPx } = patch.photo;
  const { red, green, blue } = weights;
  const { box, from, to, holeFrom, holeTo } = needed;
  for (let j = 0; j < box.height; j++) {
    const row = box.vFrom - vFrom + j;
    const firstStrip = row * stripsARow;
    const left = Math.max(0, from[j]! - uFrom) >> stripBits;
    const end = (Math.min(width - 1, to[j]! - uFrom) >> stripBits) + 1;
    // Strips that lie wholly in the hole.
    const holeLeft = (holeFrom[j]! - uFrom + (1 << stripBits) - 1) >> stripBits;
    const holeRight = (holeTo[j]! - uFrom + 1) >> stripBits;
    for (let strip = left; strip < end; strip++) {
      const first = strip;
      const stop = strip < holeLeft ? Math.min(end, holeLeft) : strip < holeRight ? strip : end;
      strip = markRun(done, firstStrip, strip, stop);
      if (strip === first) continue;
      const start = first << stripBits;
      const count = Math.min(width, strip << stripBits) - start;
      const at = 3 * ((vFrom + row) * widthPx + uFrom + start);
      weigh(rgb, at, red, green, blue, signal, row * width + start, count);
    }
  }
}

/** Marks strips as done from this one on, as far as none was; returns the first one behind them. */
function markRun(done: Uint8Array, firstStrip: number, strip: number, stop: number): number {
  while (strip < stop && done[firstStrip + strip] === 0) done[firstStrip + strip++] = 1;
  return strip;
}

/** The signal of `count` pixels of a row; those of the photograph from `q` on. */
function weigh(
  rgb: Uint8Array,
  q: number,
  red: Float32Array,
  green: Float32Array,
  blue: Float32Array,
  signal: Float32Array,
  at: number,
  count: number,
): void {
  for (let p = at; p < at + count; p++, q += 3)
    signal[p] = red[rgb[q]!]! + green[rgb[q + 1]!]! + blue[rgb[q + 2]!]!;
}

/** A part that is centred anew, or found a little larger, should not need another patch. */
const spare = 0.03;

function widened({ widthPx, heightPx }: Photo, { uFrom, vFrom, width, height }: PixelBox): PixelBox {
  const margin = Math.ceil(spare * Math.max(width, height));
  const [u, v] = [Math.max(0, uFrom - margin), Math.max(0, vFrom - margin)];
  return {
    uFrom: u,
    vFrom: v,
    width: Math.min(widthPx, uFrom + width + margin) - u,
    height: Math.min(heightPx, vFrom + height + margin) - v,
  };
}

const holds = (a: PixelBox, b: PixelBox): boolean =>
  a.uFrom <= b.uFrom &&
  a.vFrom <= b.vFrom &&
  a.uFrom + a.width >= b.uFrom + b.width &&
  a.vFrom + a.height >= b.vFrom + b.height;

function around(a: PixelBox, b: PixelBox): PixelBox {
  const uFrom = Math.min(a.uFrom, b.uFrom);
  const vFrom = Math.min(a.vFrom, b.vFrom);
  return {
    uFrom,
    vFrom,
    width: Math.max(a.uFrom + a.width, b.uFrom + b.width) - uFrom,
    height: Math.max(a.vFrom + a.height, b.vFrom + b.height) - vFrom,
  };
}
