import { ok, type Outcome } from "../problem/index.js";
import { solveCircle } from "./fit-circle.js";
import type { Circle } from "./guess-circle.js";

/** From a good start two steps are enough; more say that the start was none. */
const mostSteps = 12;
/** Of the radius. */
const settledShare = 1e-10;

/**
 * The circle of least squares from a start that is nearly right, by Gauss-Newton on the normal equations: ten times
 * faster than `solveCircle`, and without covariance. Where that does not close in at once, `solveCircle` is asked.
 *
 * @param xyMm n points; @param weights of each.
 */
export function approachCircle(start: Circle, xyMm: Float64Array, weights: Float64Array): Outcome<Circle> {
  let { x, y, radius } = start;
  let before = Infinity;
  for (let step = 0; step < mostSteps; step++) {
    // One by one: taken from a list they would be boxed anew for every point.
    let a = 0;
    let b = 0;
    let c = 0;
    let d = 0;
    let e = 0;
    let f = 0;
    let p = 0;
    let q = 0;
    let r = 0;
    let sum = 0;
    for (let i = 0; i < weights.length; i++) {
      const w = weights[i]!;
      if (w === 0) continue;
      const dx = xyMm[2 * i]! - x;
      const dy = xyMm[2 * i + 1]! - y;
      const length = Math.sqrt(dx * dx + dy * dy);
      if (length === 0) return solveCircle(start, xyMm, weights);
      const u = dx / length;
      const v = dy / length;
      const off = length - radius;
      a += w * u * u;
      b += w * u * v;
      c += w * u;
      d += w * v * v;
      e += w * v;
      f += w;
      p += w * u * off;
      q += w * v * off;
      r += w * off;
      sum += w * off * off;
    }
    // Normal equations [a b c; b d e; c e f] (dx, dy, dr) = (p, q, r), by cofactors.
    const [aa, bb, cc] = [d * f - e * e, c * e - b * f, b * e - c * d];
    const det = a * aa + b * bb + c * cc;
    // An arc too short for these equations: they lose half the digits.
    if (!(det > 1e-7 * a * d * f) || sum > before * (1 + 1e-9)) return solveCircle(start, xyMm, weights);
    const [dd, ee, ff] = [a * f - c * c, b * c - a * e, a * d - b * b];
    const [mx, my, mr] = [
      (aa * p + bb * q + cc * r) / det,
      (bb * p + dd * q + ee * r) / det,
      (cc * p + ee * q + ff * r) / det,
    ];
    x += mx;
    y += my;
    radius += mr;
    before = sum;
    if (Math.abs(mx) + Math.abs(my) + Math.abs(mr) <= settledShare * radius) return ok({ x, y, radius });
  }
  return solveCircle(start, xyMm, weights);
}
