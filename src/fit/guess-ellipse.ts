import { failed, ok, type Outcome } from "../problem/index.js";
import { checkPoints, pointSpread } from "./check-points.js";
import { choleskyFactor, invertSymmetric } from "./cholesky.js";
import { decomposeInPlace, newSingularValues } from "./singular-values.js";

export interface Ellipse {
  readonly x: number;
  readonly y: number;
  readonly semiMajor: number;
  readonly semiMinor: number;
  /** Direction of the major axis, rad, in (-pi/2, pi/2]. */
  readonly angleRad: number;
}

/**
 * Direct algebraic ellipse fit (constraint 4ac - b² = 1): a start value, without uncertainty; always an ellipse.
 *
 * @param xyMm n points x0, y0, x1, y1 ... of any one unit.
 * @returns ellipse; or problem "too-few-points" (n < 5), "points-on-a-line".
 * @throws RangeError if the length is odd or a coordinate is not finite.
 * Source: A. Fitzgibbon, M. Pilu, R. Fisher, IEEE PAMI 21 (1999) 476-480; reduced to 3x3 after R. Halíř,
 *   J. Flusser, 1998 (both from memory).
 */
export function guessEllipse(xyMm: Float64Array): Outcome<Ellipse> {
  const n = checkPoints(xyMm);
  if (n < 5) {
    return failed("too-few-points", `ellipse: expected 5 or more points, received ${n}`, "take more points");
  }
  const spread = pointSpread(xyMm);
  if (spread.narrowness < 1e-7) return onALine(n);

  // Scatter of the quadratic (x², xy, y²) and linear (x, y, 1) parts.
  const s1 = new Float64Array(9);
  const s2 = new Float64Array(9);
  const s3 = new Float64Array(9);
  for (let k = 0; k < n; k++) {
    const x = (xyMm[2 * k]! - spread.x) / spread.size;
    const y = (xyMm[2 * k + 1]! - spread.y) / spread.size;
    const quadratic = [x * x, x * y, y * y];
    const linear = [x, y, 1];
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) {
        s1[3 * i + j]! += quadratic[i]! * quadratic[j]!;
        s2[3 * i + j]! += quadratic[i]! * linear[j]!;
        s3[3 * i + j]! += linear[i]! * linear[j]!;
      }
    }
  }
  const inverse = invertSymmetric(s3, 3);
  if (inverse === undefined) return onALine(n);
  // linear part = t quadratic part, t = -s3⁻¹ s2ᵀ; reduced scatter m = s1 + s2 t.
  const t = new Float64Array(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++)
      for (let k = 0; k < 3; k++) t[3 * i + j]! -= inverse[3 * i + k]! * s2[3 * j + k]!;
  const m = s1.slice();
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++) for (let k = 0; k < 3; k++) m[3 * i + j]! += s2[3 * i + k]! * t[3 * k + j]!;
  const quadratic = leastUnderConstraint(m, s1[0]! + s1[4]! + s1[8]!);
  if (quadratic === undefined) return onALine(n);
  const linear = [0, 1, 2].map(
    (i) => t[3 * i]! * quadratic[0]! + t[3 * i + 1]! * quadratic[1]! + t[3 * i + 2]! * quadratic[2]!,
  );
  return fromConic([...quadratic, ...linear], spread.x, spread.y, spread.size) ?? onALine(n);
}

const onALine = (n: number): Outcome<never> =>
  failed(
    "points-on-a-line",
    `the ${n} points lie on a straight line or a few places`,
    "take points all round",
  );

/** Vector (a, b, c) with least vᵀ m v for 4ac - b² = 1, by symmetric reduction with m = L Lᵀ. */
function leastUnderConstraint(m: Float64Array, trace: number): number[] | undefined {
  // Points exactly on an ellipse make m singular: a ridge at rounding level keeps the factor alive.
  const ridged = m.slice();
  for (let i = 0; i < 3; i++) ridged[4 * i]! += 1e-13 * trace;
  const l = choleskyFactor(ridged, 3);
  if (l === undefined) return undefined;
  // b = L⁻¹ C L⁻ᵀ, C = [[0,0,2],[0,-1,0],[2,0,0]]: one positive eigenvalue, whose vector w gives v = L⁻ᵀ w.
  const li = new Float64Array(9);
  for (let j = 0; j < 3; j++) {
    for (let i = j; i < 3; i++) {
      let sum = i === j ? 1 : 0;
      for (let k = j; k < i; k++) sum -= l[3 * i + k]! * li[3 * k + j]!;
      li[3 * i + j] = sum / l[4 * i]!;
    }
  }
  const b = new Float64Array(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++)
      b[3 * i + j] =
        2 * (li[3 * i]! * li[3 * j + 2]! + li[3 * i + 2]! * li[3 * j]!) - li[3 * i + 1]! * li[3 * j + 1]!;
  // Shifted to be positive definite, its singular vectors are its eigenvectors.
  const shift = Math.hypot(...b);
  const svd = newSingularValues(3);
  svd.u.set(b);
  for (let i = 0; i < 3; i++) svd.u[4 * i]! += shift;
  decomposeInPlace(svd, 3);
  const top = svd.sigma.indexOf(Math.max(...svd.sigma));
  const w = [0, 1, 2].map((i) => svd.v[3 * top + i]!);
  return [0, 1, 2].map((i) => li[i]! * w[0]! + li[3 + i]! * w[1]! + li[6 + i]! * w[2]!);
}

/** Ellipse of a x² + b xy + c y² + d x + e y + f = 0, moved and scaled back; undefined if it is none. */
function fromConic(conic: number[], x0: number, y0: number, size: number): Outcome<Ellipse> | undefined {
  const [a, b, c, d, e, f] = conic as [number, number, number, number, number, number];
  const det = 4 * a * c - b * b;
  if (!(det > 0)) return undefined;
  const x = (b * e - 2 * c * d) / det;
  const y = (b * d - 2 * a * e) / det;
  const level = -(f + (d * x + e * y) / 2);
  const mean = (a + c) / 2;
  const half = Math.hypot((a - c) / 2, b / 2);
  const sign = Math.sign(mean);
  const large = level / (mean - sign * half);
  const small = level / (mean + sign * half);
  if (!(large > 0 && small > 0 && Number.isFinite(large))) return undefined;
  return ok({
    x: x0 + size * x,
    y: y0 + size * y,
    semiMajor: size * Math.sqrt(large),
    semiMinor: size * Math.sqrt(small),
    // The major axis is the direction of the smaller eigenvalue of the (sign-corrected) quadratic form.
    angleRad: half === 0 ? 0 : 0.5 * Math.atan2(-sign * b, -sign * (a - c)),
  });
}
