import { medianOf } from "../../fit/index.js";
import type { FaceSampler } from "../face-sampler.js";
import type { Point } from "../part.js";
import type { PlateSignal } from "./plate-signal.js";

/** Between lines across the outline. */
const everyMm = 1;
const mostLines = 1500;
/** The rough outline comes from a shrunk picture, and is off by a pixel or two of that. */
const lookMm = 1.5;
/** Directions of a jagged outline are taken over so much of it to either side. */
const smoothMm = 2.5;
/** A line belongs to its neighbours: further off than this it shows a shadow, a tag or a hole near the edge. */
const neighbours = 4;
const mostApartMm = 0.6;

/**
 * Follows the outline of a plate in the original pixels: half height on lines across a rough outline, between metal
 * and whatever has neither its light nor its colour. Where a line shows nothing, its neighbours say where it runs.
 *
 * @param rough closed contour, local coordinates of the face, mm; may be jagged.
 * @returns closed contour, one point a millimetre or so, in the same sense.
 */
export function traceOutline(
  sampler: FaceSampler,
  signal: PlateSignal,
  rough: readonly Point[],
  pxMm: number,
): Point[] {
  const line = evenly(rough);
  const n = line.length;
  if (n < 4 * neighbours) return [...rough];
  const outwards = isCounterClockwise(line) ? 1 : -1;
  const reach = Math.max(1, Math.round((smoothMm * n) / perimeterOf(line)));
  const normals = line.map((_, i): Point => {
    const [a, b] = [line[(i - reach + n) % n]!, line[(i + reach) % n]!];
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
    return [(outwards * (b[1] - a[1])) / length, (-outwards * (b[0] - a[0])) / length];
  });
  const seen = line.map((p, i) => edgeOn(sampler, signal, p, normals[i]!, 0.5 * pxMm));
  const near = (i: number): number[] => {
    const found: number[] = [];
    for (let k = -neighbours; k <= neighbours; k++) {
      const d = seen[(i + k + n) % n];
      if (k !== 0 && d !== undefined) found.push(d);
    }
    return found;
  };
  return line.map(([x, y], i): Point => {
    const around = near(i);
    const usual = around.length === 0 ? 0 : medianOf(around);
    const own = seen[i];
    const d = own === undefined || Math.abs(own - usual) > mostApartMm ? usual : own;
    return [x + d * normals[i]![0], y + d * normals[i]![1]];
  });
}

/** How far outside the rough outline the edge lies, mm; undefined where none is seen. */
function edgeOn(
  sampler: FaceSampler,
  signal: PlateSignal,
  [x, y]: Point,
  [ux, uy]: Point,
  stepMm: number,
): number | undefined {
  let before = NaN;
  for (let d = lookMm; d >= -lookMm; d -= stepMm) {
    const isSeen = sampler.at(x + d * ux, y + d * uy);
    const now = isSeen ? Math.min(signal.light(sampler), signal.colour(sampler)) : NaN;
    if (before < 0.5 && now >= 0.5) return d + (stepMm * (now - 0.5)) / (now - before);
    before = now;
  }
  return undefined;
}

const perimeterOf = (points: readonly Point[]): number =>
  points.reduce((sum, p, i) => {
    const q = points[(i + 1) % points.length]!;
    return sum + Math.hypot(q[0] - p[0], q[1] - p[1]);
  }, 0);

const isCounterClockwise = (points: readonly Point[]): boolean =>
  points.reduce((sum, p, i) => {
    const q = points[(i + 1) % points.length]!;
    return sum + p[0] * q[1] - q[0] * p[1];
  }, 0) > 0;

/** The same line, points evenly along it. */
function evenly(points: readonly Point[]): Point[] {
  const whole = perimeterOf(points);
  const count = Math.min(mostLines, Math.round(whole / everyMm));
  const line: Point[] = [];
  let walked = 0;
  points.forEach((p, i) => {
    const q = points[(i + 1) % points.length]!;
    const length = Math.hypot(q[0] - p[0], q[1] - p[1]);
    while (line.length < count && (line.length * whole) / count < walked + length) {
      const share = ((line.length * whole) / count - walked) / length;
      line.push([p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])]);
    }
    walked += length;
  });
  return line;
}

/**
 * The closed line with as few of its points as keep it within a tolerance (Ramer 1972, Douglas and Peucker 1973; from
 * memory).
 */
export function simplified(points: readonly Point[], toleranceMm: number): Point[] {
  if (points.length < 4) return [...points];
  // Two points that are far apart cut the ring into two lines.
  const far = farthestFrom(points[0]!, points);
  const keep = new Set([0, far]);
  const stack: [number, number][] = [
    [0, far],
    [far, points.length],
  ];
  for (let span = stack.pop(); span !== undefined; span = stack.pop()) {
    const [from, to] = span;
    const [a, b] = [points[from]!, points[to % points.length]!];
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
    let [worst, at] = [toleranceMm, -1];
    for (let i = from + 1; i < to; i++) {
      const [x, y] = points[i]!;
      const off = Math.abs((x - a[0]) * (b[1] - a[1]) - (y - a[1]) * (b[0] - a[0])) / length;
      if (off > worst) [worst, at] = [off, i];
    }
    if (at < 0) continue;
    keep.add(at);
    stack.push([from, at], [at, to]);
  }
  return points.filter((_, i) => keep.has(i));
}

function farthestFrom([x, y]: Point, points: readonly Point[]): number {
  let [best, at] = [-1, 0];
  points.forEach((p, i) => {
    const d = Math.hypot(p[0] - x, p[1] - y);
    if (d > best) [best, at] = [d, i];
  });
  return at;
}
