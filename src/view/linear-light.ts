import type { Photo } from "../photo/index.js";

/** Linear value, 0 to 1, of an sRGB code 0 to 255. Source: IEC 61966-2-1 (from memory). */
export const linearFromSrgb: Float64Array = Float64Array.from({ length: 256 }, (_, code) => {
  const v = code / 255;
  return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
});

// Rec. 709 weights of the luminance.
const red = linearFromSrgb.map((v) => 0.2126 * v);
const green = linearFromSrgb.map((v) => 0.7152 * v);
const blue = linearFromSrgb.map((v) => 0.0722 * v);

/**
 * Luminance of a photograph in linear light, 0 to 1: sRGB undone, since blur and mixing in a pixel are linear
 * in light, not in code values. A half-height edge found in code values sits too far on the dark side.
 *
 * A class, like whatever else runs millions of times: compiled code of a closure is thrown away with it, photograph for
 * photograph.
 */
export class LinearLight {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly #rgb: Photo["rgb"];
  readonly #stride: number;

  constructor({ rgb, widthPx, heightPx }: Pick<Photo, "rgb" | "widthPx" | "heightPx">) {
    this.widthPx = widthPx;
    this.heightPx = heightPx;
    this.#rgb = rgb;
    this.#stride = 3 * widthPx;
  }

  /** Bilinear value at a point, px; NaN within half a pixel of the border and outside. */
  at(xPx: number, yPx: number): number {
    if (!(xPx >= 0 && yPx >= 0 && xPx < this.widthPx - 1 && yPx < this.heightPx - 1)) return NaN;
    const rgb = this.#rgb;
    const column = xPx | 0;
    const row = yPx | 0;
    const fx = xPx - column;
    const fy = yPx - row;
    const i = row * this.#stride + 3 * column;
    const j = i + this.#stride;
    const top = valueAt(rgb, i);
    const bottom = valueAt(rgb, j);
    const left = top + fy * (bottom - top);
    const topRight = valueAt(rgb, i + 3);
    return left + fx * (topRight + fy * (valueAt(rgb, j + 3) - topRight) - left);
  }

  /** Writes `count` values at (x, y), (x + dx, y + dy) ... into `out` from `first`. */
  along(
    out: Float64Array,
    first: number,
    count: number,
    xPx: number,
    yPx: number,
    dx: number,
    dy: number,
  ): void {
    for (let k = 0; k < count; k++) out[first + k] = this.at(xPx + k * dx, yPx + k * dy);
  }

  /** Value of one pixel; column and row must lie in the picture. */
  pixel(column: number, row: number): number {
    return valueAt(this.#rgb, row * this.#stride + 3 * column);
  }
}

const valueAt = (rgb: Photo["rgb"], i: number): number =>
  red[rgb[i]!]! + green[rgb[i + 1]!]! + blue[rgb[i + 2]!]!;
