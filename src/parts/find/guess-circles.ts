import { fitCircleRobust } from "../../fit/index.js";

export interface CircleGuess {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
  /** Share of the directions in which the border is where the circle says, 0 to 1. */
  readonly support: number;
}

const sectors = 48;
const wholeSupport = 0.72;
const partSupport = 0.45;
const drawsPerCircle = 400;
const mostCircles = 5;
/**
 * Of the radius: what reaches out so far from a whole wheel is no tip of it, but may be a smaller wheel across its
 * rim.
 */
const clearlyOutside = 1.08;

/**
 * Tip circles that may explain the outer border of one patch: usually one; more when wheels touch or when
 * something lies across the rim.
 *
 * @param hull convex hull of the border, x0, y0 ..., on any plane with equal scales in x and y.
 * @param border points of the border itself, same plane.
 */
export function guessCircles(hull: Float64Array, border: Float64Array, minRadius: number): CircleGuess[] {
  const dense = resampleClosed(hull, 240);
  const fit = fitCircleRobust(dense);
  if (fit.ok) {
    const { x, y, radius } = fit.value;
    const support = supportOf(dense, x, y, radius, 0.95, 1.03);
    if (support >= wholeSupport && radius >= minRadius) {
      const whole = { x, y, radius, support };
      return [whole, ...guessSeveral(outside(thin(border, 500), whole, clearlyOutside), minRadius)];
    }
  }
  return guessSeveral(thin(border, 500), minRadius);
}

/** Greedy: the best supported circle, its points taken away, the next. */
function guessSeveral(border: Float64Array, minRadius: number): CircleGuess[] {
  let points = border;
  const found: CircleGuess[] = [];
  const random = drawsFrom(border.length);
  while (found.length < mostCircles && points.length >= 2 * 24) {
    let best: CircleGuess | undefined;
    const n = points.length / 2;
    for (let draw = 0; draw < drawsPerCircle; draw++) {
      const circle = circleThrough(points, random(n), random(n), random(n));
      if (circle === undefined || circle[2] < minRadius) continue;
      const support = supportOf(points, circle[0], circle[1], circle[2], 0.93, 1.015);
      if (best === undefined || support > best.support)
        best = { x: circle[0], y: circle[1], radius: circle[2], support };
    }
    if (best === undefined || best.support < partSupport) break;
    found.push(best);
    points = outside(points, best);
  }
  return found;
}

/** Share of sectors that have a border point between `inner` and `outer` radii. */
function supportOf(
  p: Float64Array,
  x: number,
  y: number,
  radius: number,
  inner: number,
  outer: number,
): number {
  const hit = new Uint8Array(sectors);
  for (let i = 0; i < p.length; i += 2) {
    const dx = p[i]! - x;
    const dy = p[i + 1]! - y;
    const d = Math.hypot(dx, dy) / radius;
    if (d > inner && d < outer) {
      hit[Math.min(sectors - 1, Math.floor((Math.atan2(dy, dx) / (2 * Math.PI) + 0.5) * sectors))] = 1;
    }
  }
  return hit.reduce((a, b) => a + b, 0) / sectors;
}

function circleThrough(
  p: Float64Array,
  i: number,
  j: number,
  k: number,
): [number, number, number] | undefined {
  const ax = p[2 * j]! - p[2 * i]!;
  const ay = p[2 * j + 1]! - p[2 * i + 1]!;
  const bx = p[2 * k]! - p[2 * i]!;
  const by = p[2 * k + 1]! - p[2 * i + 1]!;
  const det = 2 * (ax * by - ay * bx);
  if (Math.abs(det) < 1e-9) return undefined;
  const a2 = ax * ax + ay * ay;
  const b2 = bx * bx + by * by;
  const ux = (by * a2 - ay * b2) / det;
  const uy = (ax * b2 - bx * a2) / det;
  return [p[2 * i]! + ux, p[2 * i + 1]! + uy, Math.hypot(ux, uy)];
}

function outside(p: Float64Array, c: CircleGuess, from = 1.03): Float64Array {
  const keep: number[] = [];
  for (let i = 0; i < p.length; i += 2) {
    const d = Math.hypot(p[i]! - c.x, p[i + 1]! - c.y) / c.radius;
    if (d > from) keep.push(p[i]!, p[i + 1]!);
  }
  return Float64Array.from(keep);
}

/** `count` points at equal distances along a closed polygon. */
export function resampleClosed(p: Float64Array, count: number): Float64Array {
  const n = p.length / 2;
  const along = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    along[i + 1] = along[i]! + Math.hypot(p[2 * j]! - p[2 * i]!, p[2 * j + 1]! - p[2 * i + 1]!);
  }
  const out = new Float64Array(2 * count);
  for (let k = 0, i = 0; k < count; k++) {
    const s = (k / count) * along[n]!;
    while (i < n - 1 && along[i + 1]! <= s) i++;
    const j = (i + 1) % n;
    const length = along[i + 1]! - along[i]!;
    const t = length > 0 ? (s - along[i]!) / length : 0;
    out[2 * k] = p[2 * i]! + t * (p[2 * j]! - p[2 * i]!);
    out[2 * k + 1] = p[2 * i + 1]! + t * (p[2 * j + 1]! - p[2 * i + 1]!);
  }
  return out;
}

function thin(p: Float64Array, most: number): Float64Array {
  const n = p.length / 2;
  if (n <= most) return p;
  const out = new Float64Array(2 * most);
  for (let k = 0; k < most; k++) {
    const i = Math.floor((k * n) / most);
    out[2 * k] = p[2 * i]!;
    out[2 * k + 1] = p[2 * i + 1]!;
  }
  return out;
}

/** Same draws for the same border: a result must not change between two runs. */
function drawsFrom(seed: number): (below: number) => number {
  let state = (seed * 2654435761) >>> 0 || 1;
  return (below) => {
    state ^= state << 13;
    state >>>= 0;
    state ^= state >>> 17;
    state ^= state << 5;
    state >>>= 0;
    return state % below;
  };
}
