import type { Photo } from "../../photo/index.js";

/** Bilinear red, green and blue (code values) at a pixel position, into `out`; false outside the picture. */
export function sampleRgb(photo: Photo, u: number, v: number, out: Float64Array): boolean {
  const iu = Math.floor(u);
  const iv = Math.floor(v);
  if (!(iu >= 0 && iv >= 0 && iu < photo.widthPx - 1 && iv < photo.heightPx - 1)) return false;
  const fu = u - iu;
  const fv = v - iv;
  const p = 3 * (iv * photo.widthPx + iu);
  const q = p + 3 * photo.widthPx;
  for (let c = 0; c < 3; c++) {
    const upper = photo.rgb[p + c]! + fu * (photo.rgb[p + 3 + c]! - photo.rgb[p + c]!);
    const lower = photo.rgb[q + c]! + fu * (photo.rgb[q + 3 + c]! - photo.rgb[q + c]!);
    out[c] = upper + fv * (lower - upper);
  }
  return true;
}

/** Luma of ITU-R BT.709 from code values. */
export const lumaOf = (rgb: Float64Array): number => 0.2126 * rgb[0]! + 0.7152 * rgb[1]! + 0.0722 * rgb[2]!;
