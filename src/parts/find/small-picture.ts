import type { Photo } from "../../photo/index.js";

/** A photograph shrunk by a whole factor, for looking around; never for measuring. */
export interface SmallPicture {
  /** Small pixel (i, j) covers photo pixels i * factor .. i * factor + factor - 1, and so in j. */
  readonly factor: number;
  readonly width: number;
  readonly height: number;
  /** sRGB, 3 bytes a pixel. */
  readonly rgb: Uint8Array;
}

/** Box-filtered copy with at most about `maxPixels` pixels. */
export function shrinkPhoto(photo: Photo, maxPixels: number): SmallPicture {
  const factor = Math.max(1, Math.ceil(Math.sqrt((photo.widthPx * photo.heightPx) / maxPixels)));
  if (factor === 1) return { factor, width: photo.widthPx, height: photo.heightPx, rgb: photo.rgb };
  const width = Math.floor(photo.widthPx / factor);
  const height = Math.floor(photo.heightPx / factor);
  const rgb = new Uint8Array(3 * width * height);
  const row = new Uint32Array(3 * width);
  // Every second row tells enough of a large picture.
  const rowStep = factor >= 4 ? 2 : 1;
  const scale = 1 / (factor * Math.ceil(factor / rowStep));
  const source = photo.rgb;
  for (let j = 0; j < height; j++) {
    row.fill(0);
    for (let jj = 0; jj < factor; jj += rowStep)
      addShrunkRow(source, 3 * photo.widthPx * (j * factor + jj), factor, row);
    const at = 3 * width * j;
    for (let o = 0; o < 3 * width; o++) rgb[at + o] = row[o]! * scale + 0.5;
  }
  return { factor, width, height, rgb };
}

/** Adds the sums of `factor` neighbours each, of a row of pixels from `p` on. */
function addShrunkRow(source: Uint8Array, p: number, factor: number, row: Uint32Array): void {
  const step = 3 * factor;
  for (let o = 0; o < row.length; o += 3, p += step) {
    let r = 0;
    let g = 0;
    let b = 0;
    for (let q = p; q < p + step; q += 3) {
      r += source[q]!;
      g += source[q + 1]!;
      b += source[q + 2]!;
    }
    row[o]! += r;
    row[o + 1]! += g;
    row[o + 2]! += b;
  }
}

/** Centre of a small pixel in pixels of the photograph. */
export const photoFromSmall = (picture: SmallPicture, i: number): number => (i + 0.5) * picture.factor - 0.5;
export const smallFromPhoto = (picture: SmallPicture, u: number): number => (u + 0.5) / picture.factor - 0.5;
