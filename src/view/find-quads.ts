import { outlineCorners } from "../geometry/index.js";
import type { Photo } from "../photo/index.js";

/** Four corners, clockwise on the screen, px of the full photograph: x0, y0 ... x3, y3. */
export type Quad = Float64Array;

/** Smallest marker side that can still be read: 8 cells of about 1.5 pixels. */
const smallestSidePx = 10;

/**
 * Dark four-sided patches on a lighter ground: places where a marker may be.
 * Works on the green channel, shrunk by a whole `factor`.
 */
export function findQuads(photo: Pick<Photo, "rgb" | "widthPx" | "heightPx">, factor: number): Quad[] {
  const small = shrinkGreen(photo, factor);
  const dark = darkerThanAround(small.values, small.width, small.height);
  const quads = quadsOfOutlines(dark, small.width, small.height);
  // Centre of `factor` pixels of the row that stands for its box, in full pixels.
  for (const quad of quads) {
    for (let i = 0; i < 8; i += 2) {
      quad[i] = factor * quad[i]! + (factor - 1) / 2;
      quad[i + 1] = factor * quad[i + 1]! + (factor >> 1);
    }
  }
  return quads;
}

interface SmallImage {
  readonly width: number;
  readonly height: number;
  readonly values: Uint8Array;
}

function shrinkGreen(
  { rgb, widthPx, heightPx }: Pick<Photo, "rgb" | "widthPx" | "heightPx">,
  factor: number,
): SmallImage {
  const width = Math.floor(widthPx / factor);
  const height = Math.floor(heightPx / factor);
  const values = new Uint8Array(width * height);
  // One row of each box stands for all: memory is what this costs, and outlines need no finer grey.
  for (let y = 0; y < height; y++) {
    const i = (y * factor + (factor >> 1)) * widthPx * 3 + 1;
    shrinkRow(rgb, i, factor, values, y * width, width);
  }
  return { width, height, values };
}

/** Means of `factor` values each, three apart, from `i` on. */
function shrinkRow(
  rgb: Uint8Array,
  i: number,
  factor: number,
  values: Uint8Array,
  at: number,
  count: number,
): void {
  for (let x = at; x < at + count; x++) {
    let sum = 0;
    for (const end = i + 3 * factor; i < end; i += 3) sum += rgb[i]!;
    values[x] = sum / factor;
  }
}

/**
 * 1 where a pixel is clearly darker than the mean of a window about it; copes with uneven light and shadows.
 * The result has a border of one 0 pixel on every side.
 */
function darkerThanAround(values: Uint8Array, width: number, height: number): Uint8Array {
  const half = Math.max(8, Math.round(Math.max(width, height) / 40));
  const padded = width + 2;
  const dark = new Uint8Array(padded * (height + 2));
  // Sums over the window's rows for each column; the window's sum slides along them.
  const columns = new Uint32Array(width);
  const change = (row: number, sign: 1 | -1): void => {
    const at = row * width;
    for (let x = 0; x < width; x++) columns[x]! += sign * values[at + x]!;
  };
  for (let row = 0; row < Math.min(half, height); row++) change(row, 1);
  for (let y = 0; y < height; y++) {
    if (y + half < height) change(y + half, 1);
    if (y - half - 1 >= 0) change(y - half - 1, -1);
    const rows = Math.min(height, y + half + 1) - Math.max(0, y - half);
    const out = (y + 1) * padded + 1;
    const at = y * width;
    let sum = 0;
    let count = 0;
    for (let x = 0; x < Math.min(half, width); x++, count += rows) sum += columns[x]!;
    for (let x = 0; x < width; x++) {
      if (x + half < width) {
        sum += columns[x + half]!;
        count += rows;
      }
      if (x - half - 1 >= 0) {
        sum -= columns[x - half - 1]!;
        count -= rows;
      }
      // At least 14 % and 3 code values below the mean: paper texture and noise stay out.
      if ((values[at + x]! + 3) * count < 0.86 * sum) dark[out + x] = 1;
    }
  }
  return dark;
}

/** Follows the outer outline of every dark patch and keeps those with four straight sides. */
function quadsOfOutlines(dark: Uint8Array, width: number, height: number): Quad[] {
  const padded = width + 2;
  // Neighbours clockwise on the screen (y down), from east.
  const step = [1, padded + 1, padded, padded - 1, -1, -padded - 1, -padded, -padded + 1];
  const longest = 4 * (width + height);
  const points = new Int32Array(longest);
  const quads: Quad[] = [];
  for (let y = 1; y <= height; y++) {
    for (let start = y * padded + 1, end = start + width; start < end; start++) {
      // Outline pixels are marked 2 when passed, so that each outline is followed once.
      if (dark[start] !== 1 || dark[start - 1] !== 0) continue;
      let n = 0;
      let at = start;
      let from = 4; // we came from the light pixel in the west
      let first = -1;
      let twiceArea = 0;
      for (;;) {
        let direction = -1;
        for (let k = 1; k <= 8; k++) {
          const d = (from + k) & 7;
          if (dark[at + step[d]!] !== 0) {
            direction = d;
            break;
          }
        }
        dark[at] = 2;
        if (direction < 0) break; // a lone pixel
        if (at === start) {
          if (first < 0) first = direction;
          else if (direction === first) break;
        }
        if (n < longest) points[n] = at;
        n++;
        if (n > longest) break;
        const x0 = at % padded;
        const next = at + step[direction]!;
        const x1 = next % padded;
        twiceArea += x0 * ((next - x1) / padded) - x1 * ((at - x0) / padded);
        at = next;
        from = (direction + 4) & 7;
      }
      // Clockwise on the screen with y down is a positive area; holes run the other way round.
      if (n < 4 * smallestSidePx * 0.7 || n > longest || twiceArea < smallestSidePx * smallestSidePx)
        continue;
      const quad = quadOfOutline(points, n, padded, twiceArea / 2);
      if (quad) quads.push(quad);
    }
  }
  return quads;
}

function quadOfOutline(points: Int32Array, n: number, padded: number, area: number): Quad | undefined {
  const x = new Float64Array(n);
  const y = new Float64Array(n);
  let minX = Infinity;
  let maxX = -Infinity;
  let minY = Infinity;
  let maxY = -Infinity;
  for (let i = 0; i < n; i++) {
    const p = points[i]!;
    const column = p % padded;
    x[i] = column - 1;
    y[i] = (p - column) / padded - 1;
    minX = Math.min(minX, x[i]!);
    maxX = Math.max(maxX, x[i]!);
    minY = Math.min(minY, y[i]!);
    maxY = Math.max(maxY, y[i]!);
  }
  const boxWidth = maxX - minX;
  const boxHeight = maxY - minY;
  if (Math.min(boxWidth, boxHeight) < 0.7 * smallestSidePx) return undefined;
  if (area < 0.3 * boxWidth * boxHeight) return undefined;

  const tolerance = Math.max(1.6, 0.02 * n);
  const corners = outlineCorners(x, y, tolerance, 4);
  if (corners.length !== 4) return undefined;
  return sharpen(x, y, n, corners);
}

/** Corners as intersections of lines through the middle of each side, moved out to the edge of the dark pixels. */
function sharpen(x: Float64Array, y: Float64Array, n: number, corners: readonly number[]): Quad | undefined {
  const lines: [number, number, number][] = []; // a x + b y = c, (a, b) pointing outwards
  for (let s = 0; s < 4; s++) {
    const from = corners[s]!;
    const length = (corners[(s + 1) % 4]! - from + n) % n;
    const margin = Math.floor(0.15 * length);
    let count = 0;
    let mx = 0;
    let my = 0;
    for (let k = margin; k <= length - margin; k++) {
      mx += x[(from + k) % n]!;
      my += y[(from + k) % n]!;
      count++;
    }
    if (count < 3) return undefined;
    mx /= count;
    my /= count;
    let xx = 0;
    let xy = 0;
    let yy = 0;
    for (let k = margin; k <= length - margin; k++) {
      const dx = x[(from + k) % n]! - mx;
      const dy = y[(from + k) % n]! - my;
      xx += dx * dx;
      xy += dx * dy;
      yy += dy * dy;
    }
    const angle = 0.5 * Math.atan2(2 * xy, xx - yy);
    let a = -Math.sin(angle);
    let b = Math.cos(angle);
    // Outlines run clockwise on the screen, so outwards is to the left of the walk (y down).
    const to = corners[(s + 1) % 4]!;
    const wx = x[to]! - x[from]!;
    const wy = y[to]! - y[from]!;
    if (wx * b - wy * a > 0) {
      a = -a;
      b = -b;
    }
    lines.push([a, b, a * mx + b * my + 0.5]);
  }
  const quad = new Float64Array(8);
  for (let s = 0; s < 4; s++) {
    const [a0, b0, c0] = lines[(s + 3) % 4]!;
    const [a1, b1, c1] = lines[s]!;
    const det = a0 * b1 - a1 * b0;
    if (Math.abs(det) < 0.17) return undefined; // sides within 10 degrees of each other
    quad[2 * s] = (c0 * b1 - c1 * b0) / det;
    quad[2 * s + 1] = (a0 * c1 - a1 * c0) / det;
    if (Math.hypot(quad[2 * s]! - x[corners[s]!]!, quad[2 * s + 1]! - y[corners[s]!]!) > 0.05 * n + 2)
      return undefined;
  }
  for (let s = 0; s < 4; s++) {
    const t = (s + 1) % 4;
    const side = Math.hypot(quad[2 * t]! - quad[2 * s]!, quad[2 * t + 1]! - quad[2 * s + 1]!);
    if (side < 0.7 * smallestSidePx) return undefined;
  }
  return quad;
}
