import type { Photo } from "../photo/index.js";

/** A photograph made smaller by averaging areas; never larger than the photograph. */
export interface ShrunkPhoto {
  readonly width: number;
  readonly height: number;
  /** Photograph pixels to one pixel here; see `ClassMap`. */
  readonly factorX: number;
  readonly factorY: number;
  /** sRGB, 3 bytes a pixel, row-major. */
  readonly rgb: Uint8Array;
}

/**
 * Averages sRGB values over the area that each new pixel covers, pixels cut by its border counted in part.
 *
 * @param longSidePx longest side of the result; a photograph that is no longer stays as it is.
 */
export function shrinkPhoto(
  photo: Pick<Photo, "widthPx" | "heightPx" | "rgb">,
  longSidePx: number,
): ShrunkPhoto {
  const { widthPx, heightPx } = photo;
  const share = longSidePx / Math.max(widthPx, heightPx);
  if (share >= 1) return { width: widthPx, height: heightPx, factorX: 1, factorY: 1, rgb: photo.rgb };
  const width = Math.max(1, Math.round(widthPx * share));
  const height = Math.max(1, Math.round(heightPx * share));
  const factorX = widthPx / width;
  const factorY = heightPx / height;
  const columns = spans(widthPx, width);
  const rows = spans(heightPx, height);
  const rgb = new Uint8Array(3 * width * height);
  const line = new Float32Array(3 * widthPx);
  const scale = 1 / (factorX * factorY);
  for (let j = 0; j < height; j++) {
    addRows(photo.rgb, line, rows, j);
    const out = 3 * width * j;
    for (let i = 0; i < width; i++) {
      const first = columns.first[i]!;
      const last = columns.last[i]!;
      const a = columns.firstShare[i]!;
      let p = 3 * first;
      let r = line[p]! * a;
      let g = line[p + 1]! * a;
      let b = line[p + 2]! * a;
      for (p += 3; p < 3 * last; p += 3) {
        r += line[p]!;
        g += line[p + 1]!;
        b += line[p + 2]!;
      }
      if (last > first) {
        const z = columns.lastShare[i]!;
        r += line[p]! * z;
        g += line[p + 1]! * z;
        b += line[p + 2]! * z;
      }
      const o = out + 3 * i;
      rgb[o] = r * scale + 0.5;
      rgb[o + 1] = g * scale + 0.5;
      rgb[o + 2] = b * scale + 0.5;
    }
  }
  return { width, height, factorX, factorY, rgb };
}

/** Which source pixels a new pixel covers, and how much of the first and the last. */
interface Spans {
  readonly first: Int32Array;
  readonly last: Int32Array;
  readonly firstShare: Float32Array;
  readonly lastShare: Float32Array;
}

function spans(from: number, to: number): Spans {
  const first = new Int32Array(to);
  const last = new Int32Array(to);
  const firstShare = new Float32Array(to);
  const lastShare = new Float32Array(to);
  for (let i = 0; i < to; i++) {
    const start = (i * from) / to;
    const end = ((i + 1) * from) / to;
    const a = Math.floor(start);
    // A span that ends on a border does not reach into the next pixel.
    const z = Math.min(from - 1, Math.ceil(end - 1e-9) - 1);
    first[i] = a;
    last[i] = z;
    firstShare[i] = Math.min(end, a + 1) - start;
    lastShare[i] = end - z;
  }
  return { first, last, firstShare, lastShare };
}

/** Adds up the rows of one new row into `line`, weighted. */
function addRows(source: Uint8Array, line: Float32Array, rows: Spans, j: number): void {
  const n = line.length;
  const first = rows.first[j]!;
  const last = rows.last[j]!;
  const a = rows.firstShare[j]!;
  const start = first * n;
  for (let p = 0; p < n; p++) line[p] = source[start + p]! * a;
  for (let row = first + 1; row < last; row++) {
    const at = row * n;
    for (let p = 0; p < n; p++) line[p]! += source[at + p]!;
  }
  if (last > first) {
    const at = last * n;
    const z = rows.lastShare[j]!;
    for (let p = 0; p < n; p++) line[p]! += source[at + p]! * z;
  }
}
