import type { Photo } from "../photo/index.js";
import type { PixelWeights } from "./contrast.js";

/** Pixels uFrom..uFrom + width - 1 and vFrom..vFrom + height - 1. */
export interface PixelBox {
  readonly uFrom: number;
  readonly vFrom: number;
  readonly width: number;
  readonly height: number;
}

/** The signal of a contrast at every pixel of a box, row-major. */
export interface SignalPatch extends PixelBox {
  readonly signal: Float32Array;
}

/** A part is looked at many times over the same pixels: the last patch of each contrast is kept as long as it. */
const kept = new WeakMap<PixelWeights, { readonly photo: Photo; readonly patch: SignalPatch }>();

/** The signal over at least this box, as far as it lies in the picture. */
export function signalOver(photo: Photo, contrast: PixelWeights, wanted: PixelBox): SignalPatch {
  const before = kept.get(contrast);
  const last = before?.photo === photo ? before.patch : undefined;
  if (last !== undefined && holds(last, wanted)) return last;
  const box = last === undefined ? widened(photo, wanted) : around(last, wanted);
  const { rgb, widthPx } = photo;
  const { red, green, blue } = contrast;
  const signal = new Float32Array(box.width * box.height);
  for (let j = 0, p = 0; j < box.height; j++) {
    let q = 3 * ((box.vFrom + j) * widthPx + box.uFrom);
    for (let i = 0; i < box.width; i++, p++, q += 3)
      signal[p] = red[rgb[q]!]! + green[rgb[q + 1]!]! + blue[rgb[q + 2]!]!;
  }
  const patch = { ...box, signal };
  kept.set(contrast, { photo, patch });
  return patch;
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
