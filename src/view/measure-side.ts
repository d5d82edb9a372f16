import type { LinearLight } from "./linear-light.js";

/** One side of a marker as a path in the picture, t from 0 to 1, with the dark border on its inner side. */
export interface SidePath {
  /** Writes x, y and the outward unit normal (nx, ny) at t, px. */
  at(t: number, out: Float64Array): void;
  /** Length of the side, px. */
  readonly lengthPx: number;
  /** How far the dark border reaches inwards (one cell), px. */
  readonly cellPx: number;
}

/** A straight edge found beside a path: its distance outwards from the path is `atStartPx` + t (`atEndPx` - `atStartPx`). */
export interface SideEdge {
  readonly atStartPx: number;
  readonly atEndPx: number;
  /** Standard uncertainty of the distance at either end, from the scatter of the edge points, px. */
  readonly uEndPx: number;
  readonly pointCount: number;
  /** Levels of the dark border and of the paper beside it, linear light. */
  readonly dark: number;
  readonly bright: number;
  /** Level of the darkest tenth of the border. */
  readonly darkest: number;
}

export interface MeasureSideOptions {
  /** How far from the path the edge may lie, px. */
  readonly reachPx: number;
  /** True per eighth of the side where the cell behind the border is dark too, so that blur cannot lift the border. */
  readonly darkBehind?: readonly boolean[];
  /** Level of the dark border where it is known better than the side itself can tell; default: from the side. */
  readonly darkLevel?: number;
  /** Blur of the photograph as far as it is known, px; default 1. */
  readonly blurSigmaPx?: number;
  /** Most edge points; default 44. */
  readonly pointCount?: number;
}

const scratch = new Float64Array(4);

/**
 * Finds the edge beside a path: half-height crossings along normals, then a robust straight line.
 *
 * @returns undefined when fewer than half of the places along the side show a dark-to-bright step.
 */
export function measureSide(
  light: LinearLight,
  path: SidePath,
  options: MeasureSideOptions,
): SideEdge | undefined {
  const { lengthPx, cellPx } = path;
  const { blurSigmaPx = 1 } = options;
  // Within a cell of the corner the other side's blur rounds the edge off; keep clear of it where there is room.
  const margin = Math.min(0.22, Math.max(0.05, Math.max(3.5, 3 * blurSigmaPx) / lengthPx));
  const most = options.pointCount ?? 44;
  const count = Math.max(8, Math.min(most, Math.round(1.3 * lengthPx * (1 - 2 * margin))));
  const plateau = Math.max(1.5, 0.7 * cellPx);
  const half = Math.min(plateau, 9) + options.reachPx;
  // The sheet promises one cell of white around a marker, no more: the grey patch begins there, and is blurred too. The
  // level is read as far out as that allows, but beyond the edge's own blur (few markers have the patch beside them).
  const clearOfNext = cellPx - 2.5 * blurSigmaPx - 0.5;
  const clearOfEdge = Math.min(0.95 * cellPx, 2.2 * blurSigmaPx + 0.31 * cellPx + 0.3);
  const white = Math.min(12, Math.max(clearOfNext, clearOfEdge));
  const outer = Math.max(options.reachPx + 2, white);
  // A wide search needs no fine steps: the crossing is sharpened afterwards.
  const stepPx = Math.min(options.reachPx > 5 ? 2 : 1, half / 5);
  const steps = Math.ceil((half + outer) / stepPx) + 1;
  const edgeWidth = Math.max(1, Math.round(Math.min(0.3 * plateau, 4) / stepPx));
  const lastStart = Math.min(steps - edgeWidth, Math.ceil((half + options.reachPx) / stepPx));
  const plain = Math.max(2, Math.round(Math.min(0.45 * plateau, 5) / stepPx));
  const brightFrom = steps - plain;
  // The border is a dark bar with, perhaps, a white cell behind it. Where the edge is only roughly known, or the
  // bar is thin, its level is its lowest stretch; the mean of a fixed stretch has no bias from noise.
  const placeIsKnown = cellPx > Math.max(5, 6 * blurSigmaPx) && options.reachPx <= 0.2 * cellPx;

  const profiles = new Float64Array(count * steps);
  const places = new Float64Array(4 * count);
  const dark = new Float64Array(count);
  const bright = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    path.at(tAt(k, count, margin), scratch);
    places.set(scratch, 4 * k);
    const nx = scratch[2]!;
    const ny = scratch[3]!;
    const d = startAt(k, half, stepPx);
    const first = k * steps;
    light.along(profiles, first, steps, scratch[0]! + d * nx, scratch[1]! + d * ny, stepPx * nx, stepPx * ny);
    dark[k] =
      options.darkLevel ??
      (placeIsKnown ? meanOf(profiles, first, plain) : lowestStretch(profiles, first, lastStart, edgeWidth));
    bright[k] = meanOf(profiles, first + brightFrom, plain);
  }
  const darkFit = robustLine(dark);
  const brightFit = robustLine(bright);
  if (!darkFit || !brightFit) return undefined;

  const ts: number[] = [];
  const offsets: number[] = [];
  const weights: number[] = [];
  let usableBehind = 0;
  for (let k = 0; k < count; k++) {
    const d = levelAt(darkFit, k);
    const b = levelAt(brightFit, k);
    const own = bright[k]! - dark[k]!;
    // A place that is covered, or lies under a glint, has another step than its side.
    if (!(own > 0.55 * (b - d)) || !(own < 1.8 * (b - d)) || !(b - d > 0.01)) continue;
    const level = 0.5 * (d + b);
    const first = k * steps;
    const profile = profiles.subarray(first, first + steps);
    const best = nearestRise(profile, level, startAt(k, half, stepPx), stepPx, options.reachPx + 0.5);
    if (Number.isNaN(best)) continue;
    const t = tAt(k, count, margin);
    const behind = options.darkBehind?.[Math.min(7, Math.floor(8 * t))] ?? true;
    if (behind) usableBehind++;
    ts.push(t);
    offsets.push(crossing(light, places.subarray(4 * k, 4 * k + 4), best, level));
    weights.push(behind ? 1 : 0);
  }
  if (ts.length < 0.5 * count) return undefined;
  // Small markers: the border is so thin that a white cell behind it lifts its level and shifts the edge.
  if (cellPx > 6 * blurSigmaPx || usableBehind < 0.3 * ts.length) weights.fill(1);
  const line = robustWeightedLine(ts, offsets, weights);
  if (!line || line.inliers < 0.45 * count * (weights.includes(0) ? 0.4 : 1)) return undefined;
  return {
    atStartPx: line.a,
    atEndPx: line.a + line.b,
    uEndPx: line.uEnd,
    pointCount: line.inliers,
    dark: levelAt(darkFit, (count - 1) / 2),
    darkest: dark.sort()[Math.floor(count / 10)]!,
    bright: levelAt(brightFit, (count - 1) / 2),
  };
}

/** Where a profile rises through a level, nearest to the path, px outwards; NaN where it does so nowhere in reach. */
function nearestRise(
  profile: Float64Array,
  level: number,
  startPx: number,
  stepPx: number,
  reachPx: number,
): number {
  let best = NaN;
  for (let s = 0; s < profile.length - 1; s++) {
    const v0 = profile[s]!;
    const v1 = profile[s + 1]!;
    if (!(v0 < level && v1 >= level)) continue;
    const at = startPx + (s + (level - v0) / (v1 - v0)) * stepPx;
    if (Math.abs(at) <= reachPx && !(Math.abs(at) >= Math.abs(best))) best = at;
  }
  return best;
}

/** Place along the side of profile k of `count`. */
const tAt = (k: number, count: number, margin: number): number =>
  margin + ((1 - 2 * margin) * k) / (count - 1);

/** Start of profile k, staggered so that the raster's phase averages out along an upright edge, px. */
const startAt = (k: number, half: number, stepPx: number): number => -half + ((k % 4) / 4 - 0.375) * stepPx;

/** Where the picture passes `level` along the normal, near `at`: secant steps on the picture itself. */
function crossing(light: LinearLight, place: Float64Array, at: number, level: number): number {
  let d0 = at - 0.3;
  let d1 = at + 0.3;
  let v0 = alongNormal(light, place, d0) - level;
  let v1 = alongNormal(light, place, d1) - level;
  for (let i = 0; i < 2; i++) {
    const d = d1 - (v1 * (d1 - d0)) / (v1 - v0);
    // A flat or falling place: the coarse crossing is as good as can be had.
    if (!(Math.abs(d - at) < 0.8)) return at;
    const v = alongNormal(light, place, d) - level;
    if (v === 0) return d;
    if (v < 0) {
      d0 = d;
      v0 = v;
    } else {
      d1 = d;
      v1 = v;
    }
    if (!(v0 < 0 && v1 > 0)) return d;
  }
  return d1 - (v1 * (d1 - d0)) / (v1 - v0);
}

const alongNormal = (light: LinearLight, place: Float64Array, d: number): number =>
  light.at(place[0]! + d * place[2]!, place[1]! + d * place[3]!);

function meanOf(values: Float64Array, from: number, count: number): number {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += values[from + i]!;
  return sum / count;
}

function lowestStretch(values: Float64Array, from: number, lastStart: number, length: number): number {
  let lowest = Infinity;
  for (let s = 0; s <= lastStart; s++) lowest = Math.min(lowest, meanOf(values, from + s, length));
  return lowest;
}

interface Level {
  readonly whole: number;
  readonly slope: number;
  readonly middle: number;
}

const levelAt = ({ whole, slope, middle }: Level, k: number): number => whole + slope * (k - middle);

/** Level along a side: a line through the medians of its thirds, so that a covered part does not pull it. */
function robustLine(values: Float64Array): Level | undefined {
  const n = values.length;
  const third = Math.floor(n / 3);
  const whole = medianBetween(values, 0, n);
  if (Number.isNaN(whole)) return undefined;
  const left = medianBetween(values, 0, third);
  const right = medianBetween(values, n - third, n);
  const slope = (right - left) / (n - third);
  // A slope that changes the level by half is no shading but something in the way.
  const isShading = Math.abs(right - left) < 0.5 * Math.abs(whole);
  return { whole, slope: isShading ? slope : 0, middle: (n - 1) / 2 };
}

/** Middle value of those that are numbers; NaN when there are none. */
function medianBetween(values: Float64Array, from: number, to: number): number {
  // Sorting puts NaN last.
  const part = values.slice(from, to).sort();
  let count = part.length;
  while (count > 0 && Number.isNaN(part[count - 1])) count--;
  return count > 0 ? part[count >> 1]! : NaN;
}

/** y = a + b t by Tukey's biweight from a least-median start. */
function robustWeightedLine(
  t: readonly number[],
  y: readonly number[],
  weights: readonly number[],
): { a: number; b: number; uEnd: number; inliers: number } | undefined {
  const use = t.map((_, i) => i).filter((i) => weights[i]! > 0);
  const n = use.length;
  if (n < 4) return undefined;
  let a = 0;
  let b = 0;
  let scale = Infinity;
  // Lines through pairs half the side apart, and the path itself moved to the median.
  const pairs = Math.min(8, n >> 1);
  for (let p = 0; p < pairs; p++) {
    const i = use[Math.floor((p * (n >> 1)) / pairs)]!;
    const j = use[Math.floor((p * (n >> 1)) / pairs) + (n >> 1)]!;
    const slope = (y[j]! - y[i]!) / (t[j]! - t[i]!);
    const s = scatter(t, y, use, y[i]! - slope * t[i]!, slope);
    if (s < scale) {
      scale = s;
      a = y[i]! - slope * t[i]!;
      b = slope;
    }
  }
  let inliers = 0;
  let uEnd = 0;
  for (let iteration = 0; iteration < 4; iteration++) {
    const cut = 4.7 * Math.max(scale, 0.02);
    const sums = biweightSums(t, y, use, a, b, cut);
    const { sw, st, sy, stt, sty, sww, srr } = sums;
    inliers = sums.inliers;
    const det = sw * stt - st * st;
    if (inliers < 4 || !(det > 1e-9 * sw * sw)) return undefined;
    b = (sw * sty - st * sy) / det;
    a = (sy - b * st) / sw;
    scale = Math.max(scatter(t, y, use, a, b), 1e-4);
    // Neighbouring profiles share pixels: about every second one is independent.
    const variance = (2 * srr) / sw;
    const effective = (sw * sw) / sww;
    const middle = st / sw;
    const spread = stt / sw - middle * middle;
    uEnd = Math.sqrt((variance / effective) * (1 + Math.max(middle, 1 - middle) ** 2 / spread));
  }
  return { a, b, uEnd, inliers };
}

/** What a line by Tukey's biweight needs: weights, their squares, and products with t, y and the residuals. */
function biweightSums(
  t: readonly number[],
  y: readonly number[],
  use: readonly number[],
  a: number,
  b: number,
  cut: number,
): Record<"sw" | "st" | "sy" | "stt" | "sty" | "sww" | "srr" | "inliers", number> {
  let sw = 0;
  let st = 0;
  let sy = 0;
  let stt = 0;
  let sty = 0;
  let sww = 0;
  let srr = 0;
  let inliers = 0;
  for (let k = 0; k < use.length; k++) {
    const i = use[k]!;
    const r = (y[i]! - a - b * t[i]!) / cut;
    if (Math.abs(r) >= 1) continue;
    const w = (1 - r * r) ** 2;
    inliers++;
    sw += w;
    st += w * t[i]!;
    sy += w * y[i]!;
    stt += w * t[i]! * t[i]!;
    sty += w * t[i]! * y[i]!;
    sww += w * w;
    srr += w * (r * cut) ** 2;
  }
  return { sw, st, sy, stt, sty, sww, srr, inliers };
}

/** Robust standard deviation of y - a - b t over the points `use`. */
function scatter(
  t: readonly number[],
  y: readonly number[],
  use: readonly number[],
  a: number,
  b: number,
): number {
  const residual = Float64Array.from(use, (i) => Math.abs(y[i]! - a - b * t[i]!));
  return 1.4826 * residual.sort()[use.length >> 1]!;
}
