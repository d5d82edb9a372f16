import { fitCircleRobust } from "../../fit/index.js";
import type { CentredHole } from "./centre-hole.js";
import type { PlateFace } from "./plate-face.js";

const directions = 48;
const samplePx = 0.5;
/** Blur and bevel of the outer edge end within it. */
const nearEdge = { px: 2, mm: 0.25 } as const;
/** A step is told over so many px, from so much on, logarithm: lines of a brushed face show less. */
const stepPx = 3;
const leastStep = 0.18;
/** Nearer to the middle than this share of the radius, lines cross. */
const innermost = 0.2;
/** Steps that lie on one circle, to within this, mm and px: so many of all directions. */
const onCircle = { mm: 0.05, px: 1 } as const;
const leastShare = 0.6;
/** A ring is no narrower (common practice, no source), and lies about the same middle, mm. */
const leastRingMm = 0.35;
const mostOffMm = 0.45;
const darkest = 0.02;

/**
 * Whether a second round edge lies within that of a hole. On grey metal the slope of an oil sink and the ring of a bush are
 * as unlike the face as a hole is, so that the outer edge passes for the hole's.
 */
export function hasInnerEdge({ sampler, signal, pxMm }: PlateFace, hole: CentredHole): boolean {
  const [dx, dy, radiusMm] = hole.shape;
  const [x, y] = [hole.xMm + dx, hole.yMm + dy];
  const step = samplePx * pxMm;
  const from = innermost * radiusMm;
  const to = radiusMm - Math.max(nearEdge.px * pxMm, nearEdge.mm);
  const half = Math.round(stepPx / samplePx / 2);
  const count = Math.floor((to - from) / step);
  if (count < 2 * half + 2) return false;
  const points: number[] = [];
  const light = new Float64Array(count);
  for (let i = 0; i < directions; i++) {
    const [cos, sin] = [Math.cos((2 * Math.PI * i) / directions), Math.sin((2 * Math.PI * i) / directions)];
    for (let k = 0; k < count; k++) {
      const r = from + k * step;
      if (!sampler.at(x + r * cos, y + r * sin)) return false;
      light[k] = Math.log(darkest + signal.light(sampler));
    }
    let [most, at] = [leastStep, -1];
    for (let k = half; k < count - half; k++) {
      const change = Math.abs(light[k + half]! - light[k - half]!);
      if (change > most) [most, at] = [change, k];
    }
    if (at >= 0) points.push((from + at * step) * cos, (from + at * step) * sin);
  }
  if (points.length < 2 * leastShare * directions) return false;
  const fit = fitCircleRobust(Float64Array.from(points));
  if (!fit.ok) return false;
  const { x: cx, y: cy, radius } = fit.value;
  const near = Math.max(onCircle.mm, onCircle.px * pxMm);
  let on = 0;
  for (let k = 0; k < points.length; k += 2)
    if (Math.abs(Math.hypot(points[k]! - cx, points[k + 1]! - cy) - radius) < near) on++;
  return on >= leastShare * directions && radius < radiusMm - leastRingMm && Math.hypot(cx, cy) < mostOffMm;
}
