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
  const n = x.length;
  const a = farthest(x, y, farthest(x, y, 0));
  const b = farthest(x, y, a);
  const corners: number[] = [];
  const split = (from: number, to: number): void => {
    const length = (to - from + n) % n;
    const dx = x[to]! - x[from]!;
    const dy = y[to]! - y[from]!;
    const scale = 1 / Math.max(1e-9, Math.hypot(dx, dy));
    let [worst, at] = [0, -1];
    for (let k = 1; k < length; k++) {
      const i = (from + k) % n;
      const d = Math.abs((x[i]! - x[from]!) * dy - (y[i]! - y[from]!) * dx) * scale;
      if (d > worst) {
        worst = d;
        at = i;
      }
    }
    if (worst <= tolerance || corners.length > most) return;
    split(from, at);
    corners.push(at);
    split(at, to);
  };
  corners.push(a);
  split(a, b);
  corners.push(b);
  split(b, a);
  return corners;
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
