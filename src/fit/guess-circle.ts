import { failed, ok, type Outcome } from "../problem/index.js";
import { checkPoints, pointSpread } from "./check-points.js";

export interface Circle {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

/** Narrower than this, the points lie on a line as far as double precision can tell. */
const LINE_NARROWNESS = 1e-7;

export interface GuessCircleOptions {
  /** Weight of each point; default 1. */
  readonly weights?: Float64Array;
  /** Constraint of the algebraic fit; default "hyper", which has no essential bias. */
  readonly constraint?: "hyper" | "taubin" | "pratt";
}

/**
 * Algebraic circle fit: a start value, without uncertainty.
 *
 * @param xyMm n points x0, y0, x1, y1 ... of any one unit.
 * @returns circle; or problem "too-few-points" (n < 3, or all in one place), "points-on-a-line".
 * @throws RangeError if the length is odd or a coordinate is not finite.
 * Source: A. Al-Sharadqah, N. Chernov, Error analysis for circle fitting algorithms, Electronic J. Statistics 3
 *   (2009) 886-911 (from memory): smallest root of the characteristic quartic, by Newton from zero.
 */
export function guessCircle(xyMm: Float64Array, options: GuessCircleOptions = {}): Outcome<Circle> {
  const { weights, constraint = "hyper" } = options;
  const n = checkPoints(xyMm, weights);
  const used = weights ? weights.reduce((count, w) => count + (w > 0 ? 1 : 0), 0) : n;
  const tooFew = (found: string): Outcome<never> =>
    failed("too-few-points", `circle: expected 3 or more points, received ${found}`, "take more points");
  if (used < 3) return tooFew(`${used}`);
  const spread = pointSpread(xyMm, weights);
  if (!(spread.size > 0)) return tooFew("one point several times");
  if (spread.narrowness < LINE_NARROWNESS) {
    return failed(
      "points-on-a-line",
      `the ${used} points lie on a straight line`,
      "take points from a longer arc of the circle",
    );
  }

  // Moments of centred points, scaled to unit size.
  let total = 0;
  let mxx = 0;
  let myy = 0;
  let mxy = 0;
  let mxz = 0;
  let myz = 0;
  let mzz = 0;
  for (let i = 0; i < n; i++) {
    const w = weights ? weights[i]! : 1;
    const x = (xyMm[2 * i]! - spread.x) / spread.size;
    const y = (xyMm[2 * i + 1]! - spread.y) / spread.size;
    const z = x * x + y * y;
    total += w;
    mxx += w * x * x;
    myy += w * y * y;
    mxy += w * x * y;
    mxz += w * x * z;
    myz += w * y * z;
    mzz += w * z * z;
  }
  mxx /= total;
  myy /= total;
  mxy /= total;
  mxz /= total;
  myz /= total;
  mzz /= total;
  const mz = mxx + myy;
  const cov = mxx * myy - mxy * mxy;
  const varZ = mzz - mz * mz;
  // Characteristic polynomial a0 + a1 t + a2 t² + a3 t³ + a4 t⁴.
  const taubin = constraint === "taubin";
  const a4 = taubin ? 0 : 4;
  const a3 = taubin ? 4 * mz : 0;
  const a2 = taubin ? -3 * mz * mz - mzz : 4 * cov - 3 * mz * mz - mzz;
  const a1 = varZ * mz + 4 * cov * mz - mxz * mxz - myz * myz;
  const a0 = mxz * (mxz * myy - myz * mxy) + myz * (myz * mxx - mxz * mxy) - varZ * cov;
  let t = 0;
  let value = a0;
  for (let i = 0; i < 50; i++) {
    const slope = a1 + t * (2 * a2 + t * (3 * a3 + t * 4 * a4));
    const next = t - value / slope;
    if (next === t || !Number.isFinite(next)) break;
    const nextValue = a0 + next * (a1 + next * (a2 + next * (a3 + next * a4)));
    // Newton from zero is monotone here: growth of |value| means that rounding has taken over.
    if (Math.abs(nextValue) >= Math.abs(value)) break;
    t = next;
    value = nextValue;
  }
  const det = t * t - t * mz + cov;
  const cx = (mxz * (myy - t) - myz * mxy) / (2 * det);
  const cy = (myz * (mxx - t) - mxz * mxy) / (2 * det);
  const shift = taubin ? 0 : constraint === "pratt" ? 2 * t : -2 * t;
  const radius = Math.sqrt(Math.max(0, cx * cx + cy * cy + mz + shift));
  return ok({
    x: spread.x + spread.size * cx,
    y: spread.y + spread.size * cy,
    radius: spread.size * radius,
  });
}
