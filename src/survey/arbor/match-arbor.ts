import { solveLinearLeastSquares } from "../../fit/index.js";
import type { HubPicture } from "../../parts/index.js";
import type { ArborSpot } from "./find-arbor.js";

/** How the arbor of one photograph lies over that of another: turned about its own centre, then moved. */
export interface ArborMatch {
  /** Where the reference's centroid has gone, from the centre of the tooth circle of this photograph, mm. */
  readonly xMm: number;
  readonly yMm: number;
  readonly turnRad: number;
  readonly uShiftMm: number;
  readonly uTurnRad: number;
  /** 1 for the same picture, 0 for nothing in common. */
  readonly likeness: number;
}

/**
 * Neighbouring samples share noise: colour is stored at half resolution, and packed in blocks of 8. So many say what
 * one says, found on rendered photographs of arbors that were not turned.
 */
const sharedSamples = 16;

/**
 * Lays the reference's arbor over this one by least squares on the picture of bareness, which light and shade hardly
 * touch: shift and turn at once (Lucas and Kanade's way, about the centroid).
 *
 * @param turnRad start; the search reaches about half a leaf.
 */
export function matchArbor(
  reference: HubPicture,
  from: ArborSpot,
  hub: HubPicture,
  to: ArborSpot,
  turnRad: number,
): ArborMatch | undefined {
  const samples = samplesOf(reference, from);
  let x = to.xMm;
  let y = to.yMm;
  let turn = turnRad;
  let result: ArborMatch | undefined;
  const m = samples.length / 3;
  const rows = new Float64Array(4 * m);
  const rhs = new Float64Array(m);
  for (let round = 0; round < 12; round++) {
    const cos = Math.cos(turn);
    const sin = Math.sin(turn);
    let used = 0;
    for (let k = 0; k < m; k++) {
      const px = samples[3 * k]!;
      const py = samples[3 * k + 1]!;
      const qx = cos * px - sin * py;
      const qy = sin * px + cos * py;
      const s = sampleWithSlope(hub, x + qx, y + qy);
      if (s === undefined) {
        rows.fill(0, 4 * k, 4 * k + 4);
        rhs[k] = 0;
        continue;
      }
      used++;
      rows.set([s.dx, s.dy, -qy * s.dx + qx * s.dy, s.value], 4 * k);
      rhs[k] = samples[3 * k + 2]! - s.value;
    }
    if (used < 0.8 * m) return undefined;
    const fit = solveLinearLeastSquares(rows, rhs, 4);
    if (!fit.ok) return undefined;
    const [dx, dy, dt] = fit.value.params as unknown as [number, number, number];
    x += dx;
    y += dy;
    turn += Math.min(0.1, Math.max(-0.1, dt));
    if (Math.hypot(x - to.xMm, y - to.yMm) > from.reachMm) return undefined;
    const c = fit.value.covariance;
    const noise = Math.sqrt((sharedSamples * fit.value.sumOfSquares) / Math.max(1, used - 4));
    result = {
      xMm: x,
      yMm: y,
      turnRad: turn,
      uShiftMm: noise * Math.sqrt((c[0]! + c[5]!) / 2),
      uTurnRad: noise * Math.sqrt(c[10]!),
      likeness: 1 - fit.value.sumOfSquares / variance(samples),
    };
    if (Math.hypot(dx, dy) < 1e-4 * from.reachMm && Math.abs(dt) < 1e-5) break;
  }
  return result;
}

/** Likeness of both arbors if this one is turned by `turnRad` against the reference, without any search. */
export function arborLikeness(
  reference: HubPicture,
  from: ArborSpot,
  hub: HubPicture,
  to: ArborSpot,
  turnRad: number,
): number {
  const samples = samplesOf(reference, from, reference.size > 70 ? 2 : 1);
  const cos = Math.cos(turnRad);
  const sin = Math.sin(turnRad);
  let ab = 0;
  let a = 0;
  let b = 0;
  let aa = 0;
  let bb = 0;
  let n = 0;
  for (let k = 0; k < samples.length; k += 3) {
    const px = samples[k]!;
    const py = samples[k + 1]!;
    const s = sampleWithSlope(hub, to.xMm + cos * px - sin * py, to.yMm + sin * px + cos * py);
    if (s === undefined) continue;
    const v = samples[k + 2]!;
    n++;
    a += v;
    b += s.value;
    ab += v * s.value;
    aa += v * v;
    bb += s.value * s.value;
  }
  const va = aa - (a * a) / n;
  const vb = bb - (b * b) / n;
  return va > 0 && vb > 0 ? (ab - (a * b) / n) / Math.sqrt(va * vb) : 0;
}

/** x, y from the centroid and the value of every sample within reach, and a little beyond. */
function samplesOf({ size: n, stepMm, bare }: HubPicture, spot: ArborSpot, every = 1): number[] {
  const out: number[] = [];
  const middle = (n - 1) / 2;
  for (let j = 0; j < n; j += every) {
    for (let i = 0; i < n; i += every) {
      const x = (i - middle) * stepMm - spot.xMm;
      const y = (j - middle) * stepMm - spot.yMm;
      if (Math.hypot(x, y) <= spot.reachMm) out.push(x, y, bare[j * n + i]!);
    }
  }
  return out;
}

function variance(samples: readonly number[]): number {
  const n = samples.length / 3;
  let sum = 0;
  let squares = 0;
  for (let k = 2; k < samples.length; k += 3) {
    sum += samples[k]!;
    squares += samples[k]! ** 2;
  }
  return Math.max(1e-12, squares - (sum * sum) / n);
}

/** Value and slope per mm, bilinear on a picture smoothed by its own interpolation. */
function sampleWithSlope(
  { size: n, stepMm, bare }: HubPicture,
  xMm: number,
  yMm: number,
): { value: number; dx: number; dy: number } | undefined {
  const x = xMm / stepMm + (n - 1) / 2;
  const y = yMm / stepMm + (n - 1) / 2;
  const i = Math.floor(x);
  const j = Math.floor(y);
  if (!(i >= 1 && j >= 1 && i < n - 2 && j < n - 2)) return undefined;
  const fx = x - i;
  const fy = y - j;
  const at = (a: number, b: number): number => bare[(j + b) * n + i + a]!;
  const value = (1 - fy) * ((1 - fx) * at(0, 0) + fx * at(1, 0)) + fy * ((1 - fx) * at(0, 1) + fx * at(1, 1));
  // Central differences: the slope of a bilinear patch jumps at every sample.
  const row = (b: number): number => (1 - fx) * (at(1, b) - at(-1, b)) + fx * (at(2, b) - at(0, b));
  const column = (a: number): number => (1 - fy) * (at(a, 1) - at(a, -1)) + fy * (at(a, 2) - at(a, 0));
  return {
    value,
    dx: ((1 - fy) * row(0) + fy * row(1)) / (2 * stepMm),
    dy: ((1 - fx) * column(0) + fx * column(1)) / (2 * stepMm),
  };
}
