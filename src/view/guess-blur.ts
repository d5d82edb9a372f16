import { medianOf } from "../fit/index.js";
import type { Photo } from "../photo/index.js";
import type { LinearLight } from "./linear-light.js";

/** Edges looked at, at most. */
const mostEdges = 300;
/** Half length of a profile across an edge, px, and how finely it is sampled. */
const halfPx = 7;
const stepPx = 0.5;

/**
 * Blur of a photograph without a mat, from the sharpest edges in it: the slope of a blurred step says how wide the blur is.
 * A guess: a rounded or shadowed edge looks softer than the lens drew it, so the sharper ones are believed.
 *
 * @returns standard deviation, px, the pixel's own square included; undefined when the picture shows no clear edge.
 */
export function guessBlurSigmaPx(
  photo: Pick<Photo, "rgb" | "widthPx" | "heightPx">,
  light: LinearLight,
): number | undefined {
  const sigmas: number[] = [];
  for (const [column, row] of steepPlaces(photo)) {
    const sigma = sigmaAt(light, column, row);
    if (sigma !== undefined) sigmas.push(sigma);
  }
  if (sigmas.length < 12) return undefined;
  // The sharper half of the edges, its middle.
  return medianOf(sigmas.sort((a, b) => a - b).slice(0, sigmas.length >> 1));
}

/** Places of the steepest change, spread over the picture: the steepest of each tile, the steepest tiles first. */
function steepPlaces({
  rgb,
  widthPx,
  heightPx,
}: Pick<Photo, "rgb" | "widthPx" | "heightPx">): [number, number][] {
  const tilePx = Math.max(16, Math.round(Math.max(widthPx, heightPx) / 60));
  const rowStep = Math.max(1, Math.round(heightPx / 500));
  const found: { column: number; row: number; change: number }[] = [];
  for (let top = 1; top < heightPx - 1; top += tilePx) {
    for (let left = 1; left < widthPx - 1; left += tilePx) {
      let best = { column: 0, row: 0, change: 0 };
      for (let row = top; row < Math.min(heightPx - 1, top + tilePx); row += rowStep) {
        let i = 3 * (row * widthPx + left) + 1;
        for (let column = left; column < Math.min(widthPx - 1, left + tilePx); column++, i += 3) {
          const change =
            Math.abs(rgb[i + 3]! - rgb[i - 3]!) + Math.abs(rgb[i + 3 * widthPx]! - rgb[i - 3 * widthPx]!);
          if (change > best.change) best = { column, row, change };
        }
      }
      if (best.change > 30) found.push(best);
    }
  }
  found.sort((a, b) => b.change - a.change);
  return found.slice(0, mostEdges).map(({ column, row }) => [column, row]);
}

function sigmaAt(light: LinearLight, column: number, row: number): number | undefined {
  const dx = light.at(column + 1, row) - light.at(column - 1, row);
  const dy = light.at(column, row + 1) - light.at(column, row - 1);
  const length = Math.hypot(dx, dy);
  if (!(length > 0.02)) return undefined;
  const count = Math.round((2 * halfPx) / stepPx) + 1;
  const profile = new Float64Array(count);
  const nx = (dx / length) * stepPx;
  const ny = (dy / length) * stepPx;
  light.along(profile, 0, count, column - (nx * (count - 1)) / 2, row - (ny * (count - 1)) / 2, nx, ny);
  const end = 5;
  const low = medianOf(profile.subarray(0, end));
  const high = medianOf(profile.subarray(count - end));
  const contrast = high - low;
  if (!(contrast > 0.05)) return undefined;
  let slope = 0;
  for (let i = 0; i < count; i++) {
    // A lone step, not a line or a tooth tip narrower than the profile.
    if (!(profile[i]! > low - 0.12 * contrast && profile[i]! < high + 0.12 * contrast)) return undefined;
    if (i >= 2) slope = Math.max(slope, (profile[i]! - profile[i - 2]!) / (2 * stepPx));
  }
  // The slope is that of straight lines between pixels: a mean over one pixel, which widens the edge by its square.
  const variance = (contrast / (Math.sqrt(2 * Math.PI) * slope)) ** 2 - 1 / 12;
  return variance > 0.04 ? Math.min(8, Math.sqrt(variance)) : 0.2;
}
