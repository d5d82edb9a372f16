/**
 * Corners of a closed outline: as few of its points as keep the polygon through them within a tolerance (Ramer 1972,
 * Douglas and Peucker 1973; from memory). The outline is cut at two points that are far apart; a far point of a convex
 * shape is a corner.
 *
 * @param x n coordinates along the outline. @param y the same.
 * @param most to be told apart from more: with more corners than this the search ends early.
 * @returns their indices, along the outline.
 */
export function outlineCorners(
  x: Float64Array,
  y: Float64Array,
  tolerance: number,
  most = Infinity,
): number[] {
  const a = farthest(x, y, farthest(x, y, 0));
  const b = farthest(x, y, a);
  const corners: number[] = [];
  corners.push(a);
  split(x, y, a, b, tolerance, most, corners);
  corners.push(b);
  split(x, y, b, a, tolerance, most, corners);
  return corners;
}

function split(
  x: Float64Array,
  y: Float64Array,
  from: number,
  to: number,
  tolerance: number,
  most: number,
  corners: number[],
): void {
  const at = farthestFromChord(x, y, from, to, tolerance);
  if (at < 0 || corners.length > most) return;
  split(x, y, from, at, tolerance, most, corners);
  corners.push(at);
  split(x, y, at, to, tolerance, most, corners);
}

/** Of the points between two; -1 where none is further from the line between them than the tolerance. */
function farthestFromChord(
  x: Float64Array,
  y: Float64Array,
  from: number,
  to: number,
  tolerance: number,
): number {
  const n = x.length;
  const length = (to - from + n) % n;
  const dx = x[to]! - x[from]!;
  const dy = y[to]! - y[from]!;
  const scale = 1 / Math.max(1e-9, Math.hypot(dx, dy));
  let worst = 0;
  let at = -1;
  for (let k = 1; k < length; k++) {
    const i = (from + k) % n;
    const d = Math.abs((x[i]! - x[from]!) * dy - (y[i]! - y[from]!) * dx) * scale;
    if (d > worst) {
      worst = d;
      at = i;
    }
  }
  return worst > tolerance ? at : -1;
}

function farthest(x: Float64Array, y: Float64Array, from: number): number {
  let [best, most] = [from, -1];
  for (let i = 0; i < x.length; i++) {
    const d = (x[i]! - x[from]!) ** 2 + (y[i]! - y[from]!) ** 2;
    if (d > most) {
      most = d;
      best = i;
    }
  }
  return best;
}
