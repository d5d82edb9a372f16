import type { Photo } from "../photo/index.js";

/**
 * Luminance of a photograph in linear light, 0 to 1: sRGB undone, since blur and mixing in a pixel are linear
 * in light, not in code values. A half-height edge found in code values sits too far on the dark side.
 */
export interface LinearLight {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Bilinear value at a point, px; NaN within half a pixel of the border and outside. */
  at(xPx: number, yPx: number): number;
  /** Writes `count` values at (x, y), (x + dx, y + dy) ... into `out` from `first`. */
  along(
    out: Float64Array,
    first: number,
    count: number,
    xPx: number,
    yPx: number,
    dx: number,
    dy: number,
  ): void;
  /** Value of one pixel; column and row must lie in the picture. */
  pixel(column: number, row: number): number;
}

/** Linear value, 0 to 1, of an sRGB code 0 to 255. Source: IEC 61966-2-1 (from memory). */
export const linearFromSrgb: Float64Array = Float64Array.from({ length: 256 }, (_, code) => {
  const v = code / 255;
  return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
});

// Rec. 709 weights of the luminance.
const red = linearFromSrgb.map((v) => 0.2126 * v);
const green = linearFromSrgb.map((v) => 0.7152 * v);
const blue = linearFromSrgb.map((v) => 0.0722 * v);

export function linearLight(photo: Pick<Photo, "rgb" | "widthPx" | "heightPx">): LinearLight {
  const { rgb, widthPx, heightPx } = photo;
  const stride = 3 * widthPx;
  const value = (i: number): number => red[rgb[i]!]! + green[rgb[i + 1]!]! + blue[rgb[i + 2]!]!;
  const at = (xPx: number, yPx: number): number => {
    if (!(xPx >= 0 && yPx >= 0 && xPx < widthPx - 1 && yPx < heightPx - 1)) return NaN;
    const column = xPx | 0;
    const row = yPx | 0;
    const fx = xPx - column;
    const fy = yPx - row;
    const i = row * stride + 3 * column;
    const j = i + stride;
    const top = value(i);
    const bottom = value(j);
    const left = top + fy * (bottom - top);
    const topRight = value(i + 3);
    return left + fx * (topRight + fy * (value(j + 3) - topRight) - left);
  };
  return {
    widthPx,
    heightPx,
    pixel: (column, row) => value(row * stride + 3 * column),
    at,
    along: (out, first, count, xPx, yPx, dx, dy) => {
      for (let k = 0; k < count; k++) out[first + k] = at(xPx + k * dx, yPx + k * dy);
    },
  };
}
