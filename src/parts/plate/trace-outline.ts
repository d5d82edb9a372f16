import { medianOf } from "../../fit/index.js";
import { outlineCorners } from "../../geometry/index.js";
import type { FaceSampler } from "../face-sampler.js";
import type { Point } from "../part.js";
import { edgeAcross } from "./edge-across.js";
import { signedAreaOf } from "./plate-outline.js";
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
  const outwards = Math.sign(signedAreaOf(line));
  const reach = Math.max(1, Math.round((smoothMm * n) / perimeterOf(line)));
  const normals = line.map((_, i): Point => {
    const [a, b] = [line[(i - reach + n) % n]!, line[(i + reach) % n]!];
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
    return [(outwards * (b[1] - a[1])) / length, (-outwards * (b[0] - a[0])) / length];
  });
  const seen = line.map((p, i) => edgeAcross(sampler, signal, p, normals[i]!, lookMm, -lookMm, 0.5 * pxMm));
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

const perimeterOf = (points: readonly Point[]): number =>
  points.reduce((sum, p, i) => {
    const q = points[(i + 1) % points.length]!;
    return sum + Math.hypot(q[0] - p[0], q[1] - p[1]);
  }, 0);

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

/** The closed line without the points that lie between others, to within a tolerance. */
export function simplified(points: readonly Point[], toleranceMm: number): Point[] {
  const x = Float64Array.from(points, (p) => p[0]);
  const y = Float64Array.from(points, (p) => p[1]);
  return outlineCorners(x, y, toleranceMm).map((i) => points[i]!);
}
