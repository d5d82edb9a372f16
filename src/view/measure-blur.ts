import { normalDistribution } from "../fit/index.js";
import type { LinearLight } from "./linear-light.js";
import { sidePath, signedArea, type RefinedMarker } from "./refine-marker.js";

const binPx = 0.2;
const reachPx = 6;
const bins = Math.round((2 * reachPx) / binPx);

/**
 * Blur of the photograph at one marker: the spread of its four outer edges, super-resolved from whole pixels (no
 * interpolation), fitted by a Gaussian edge. The pixel's own square is part of it: 0.29 px when all else is sharp.
 *
 * @returns standard deviation, px; undefined when too little of the edges is seen.
 */
export function measureBlurSigmaPx(light: LinearLight, marker: RefinedMarker): number | undefined {
  const sums = new Float64Array(bins);
  const counts = new Float64Array(bins);
  const { corners } = marker;
  const turn = Math.sign(signedArea(corners));
  const at = new Float64Array(4);
  for (let s = 0; s < 4; s++) {
    const path = sidePath({ corners }, s, turn);
    const { dark, bright } = marker.sides[s]!;
    const inner = Math.min(reachPx, 0.6 * path.cellPx);
    const outer = Math.min(reachPx, 0.8 * path.cellPx);
    const margin = Math.min(0.25, 4 / path.lengthPx);
    const count = Math.max(4, Math.min(40, Math.round(path.lengthPx * (1 - 2 * margin))));
    for (let k = 0; k < count; k++) {
      path.at(margin + ((1 - 2 * margin) * (k + 0.5)) / count, at);
      const x = at[0]!;
      const y = at[1]!;
      const nx = at[2]!;
      const ny = at[3]!;
      for (let d = -inner; d <= outer; d += 0.9) {
        const column = Math.round(x + d * nx);
        const row = Math.round(y + d * ny);
        if (column < 0 || row < 0 || column >= light.widthPx || row >= light.heightPx) continue;
        // Distance of this pixel's centre from the edge line.
        const exact = (column - x) * nx + (row - y) * ny;
        const bin = Math.floor((exact + reachPx) / binPx);
        if (exact < -inner || exact > outer || bin < 0 || bin >= bins) continue;
        sums[bin]! += (light.pixel(column, row) - dark) / (bright - dark);
        counts[bin]!++;
      }
    }
  }
  return fitGaussianEdge(sums, counts);
}

/** Gauss-Newton on a + (b - a) normal((d - d0) / sigma), bins weighted by their counts. */
function fitGaussianEdge(sums: Float64Array, counts: Float64Array): number | undefined {
  let a = 0;
  let b = 1;
  let d0 = 0;
  let lnSigma = Math.log(0.9);
  let filled = 0;
  for (const count of counts) if (count > 0) filled++;
  if (filled < 12) return undefined;
  const row = new Float64Array(5);
  for (let iteration = 0; iteration < 25; iteration++) {
    const m = new Float64Array(20); // 4 x 5 normal equations
    const sigma = Math.exp(lnSigma);
    for (let i = 0; i < bins; i++) {
      const weight = counts[i]!;
      if (weight === 0) continue;
      const z = (-reachPx + (i + 0.5) * binPx - d0) / sigma;
      const rise = normalDistribution(z);
      const slope = (b - a) * 0.3989422804 * Math.exp(-0.5 * z * z);
      row[0] = 1 - rise;
      row[1] = rise;
      row[2] = -slope / sigma;
      row[3] = -slope * z;
      row[4] = sums[i]! / weight - a - (b - a) * rise;
      addRow(m, weight, row);
    }
    const step = solve4(m);
    if (!step) return undefined;
    a += step[0]!;
    b += step[1]!;
    d0 += Math.max(-0.5, Math.min(0.5, step[2]!));
    const change = Math.max(-0.5, Math.min(0.5, step[3]!));
    lnSigma += change;
    if (Math.abs(change) < 1e-5 && iteration > 2) break;
  }
  const sigma = Math.exp(lnSigma);
  return sigma > 0.05 && sigma < 8 && Math.abs(d0) < 2 && b - a > 0.3 ? sigma : undefined;
}

function addRow(m: Float64Array, weight: number, row: Float64Array): void {
  for (let p = 0; p < 4; p++) for (let q = 0; q < 5; q++) m[5 * p + q]! += weight * row[p]! * row[q]!;
}

function solve4(m: Float64Array): number[] | undefined {
  for (let k = 0; k < 4; k++) {
    const pivot = m[6 * k]!;
    if (!(pivot > 1e-12)) return undefined;
    for (let i = 0; i < 4; i++) {
      if (i === k) continue;
      const factor = m[5 * i + k]! / pivot;
      for (let j = k; j < 5; j++) m[5 * i + j]! -= factor * m[5 * k + j]!;
    }
  }
  return [0, 1, 2, 3].map((i) => m[5 * i + 4]! / m[6 * i]!);
}
