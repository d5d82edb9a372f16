import { failed, ok, type Outcome } from "../problem/index.js";
import { checkPoints, pointSpread } from "./check-points.js";
import { guessCircle } from "./guess-circle.js";
import { guessEllipse, type Ellipse } from "./guess-ellipse.js";
import { solveLeastSquares, type LeastSquaresFit } from "./solve-least-squares.js";

/**
 * The ellipse is also kept in a form that stays smooth for circles, where the axes have no direction:
 * meanRadius (a + b)/2, and the vector oval = (a - b)/2 (cos 2 angle, sin 2 angle). It is the image of the unit
 * circle under [[meanRadius + ovalCos, ovalSin], [ovalSin, meanRadius - ovalCos]].
 */
export interface EllipseFit extends Ellipse {
  readonly meanRadius: number;
  readonly ovalCos: number;
  readonly ovalSin: number;
  /** 5x5, row-major x, y, meanRadius, ovalCos, ovalSin, in squared units of the points. */
  readonly covariance: Float64Array;
  /** Root mean square of the orthogonal distances. */
  readonly rms: number;
}

export interface FitEllipseOptions {
  /** Standard uncertainty of a coordinate, unit of the points; default: from residuals. */
  readonly uPointMm?: number;
}

/**
 * Least-squares ellipse: minimises squared orthogonal distances (geometric), from two algebraic starts.
 *
 * @param xyMm n points x0, y0, x1, y1 ... (length 2n), mm (or any one unit).
 * @returns ellipse with covariance; or problem "too-few-points" (n < 5, or n = 5 without `uPointMm`),
 *   "points-on-a-line", "no-convergence".
 * @throws RangeError if the length is odd or a coordinate is not finite.
 * Source: W. Gander, G. H. Golub, R. Strebel, BIT 34 (1994) 558-578, for the problem; foot points by Newton.
 */
export function fitEllipse(xyMm: Float64Array, { uPointMm }: FitEllipseOptions = {}): Outcome<EllipseFit> {
  const n = checkPoints(xyMm);
  const guess = guessEllipse(xyMm);
  if (!guess.ok) return guess;
  if (n === 5 && uPointMm === undefined) {
    return failed(
      "too-few-points",
      "ellipse: expected 6 or more points to see their scatter, received 5",
      "take more points, or state the uncertainty of a point",
    );
  }
  const spread = pointSpread(xyMm);
  const points = Float64Array.from(xyMm, (v, i) => (v - (i % 2 === 0 ? spread.x : spread.y)) / spread.size);
  const starts = [guess.value];
  const circle = guessCircle(xyMm);
  if (circle.ok) {
    const { x, y, radius } = circle.value;
    starts.push({ x, y, semiMajor: radius, semiMinor: radius, angleRad: 0 });
  }
  let best: LeastSquaresFit | undefined;
  let last: Outcome<LeastSquaresFit> | undefined;
  for (const start of starts) {
    last = solveFrom(start, points, spread);
    if (last.ok && (best === undefined || last.value.sumOfSquares < best.sumOfSquares)) best = last.value;
  }
  if (best === undefined) return last as Outcome<never>;

  const { params, covariance, sumOfSquares } = best;
  const [x, y, mean, ovalCos, ovalSin] = params as unknown as [number, number, number, number, number];
  const half = Math.hypot(ovalCos, ovalSin);
  const variance = uPointMm === undefined ? (sumOfSquares / (n - 5)) * spread.size ** 2 : uPointMm ** 2;
  return ok({
    x: spread.x + spread.size * x,
    y: spread.y + spread.size * y,
    semiMajor: spread.size * (mean + half),
    semiMinor: spread.size * (mean - half),
    angleRad: half === 0 ? 0 : 0.5 * Math.atan2(ovalSin, ovalCos),
    meanRadius: spread.size * mean,
    ovalCos: spread.size * ovalCos,
    ovalSin: spread.size * ovalSin,
    covariance: covariance.map((c) => c * variance),
    rms: spread.size * Math.sqrt(sumOfSquares / n),
  });
}

function solveFrom(
  start: Ellipse,
  points: Float64Array,
  spread: { readonly x: number; readonly y: number; readonly size: number },
): Outcome<LeastSquaresFit> {
  const n = points.length / 2;
  const half = (start.semiMajor - start.semiMinor) / 2;
  const foot: Foot = { x: 0, y: 0, distance: 0, nx: 0, ny: 0, ux: 0, uy: 0 };
  return solveLeastSquares({
    residualCount: n,
    start: [
      (start.x - spread.x) / spread.size,
      (start.y - spread.y) / spread.size,
      (start.semiMajor + start.semiMinor) / 2 / spread.size,
      (half * Math.cos(2 * start.angleRad)) / spread.size,
      (half * Math.sin(2 * start.angleRad)) / spread.size,
    ],
    scale: [1, 1, 1, 1, 1],
    residuals: (params, out) => {
      for (let i = 0; i < n; i++) {
        footPoint(params, points[2 * i]!, points[2 * i + 1]!, foot);
        out[i] = foot.distance;
      }
    },
    jacobian: (params, out) => {
      for (let i = 0; i < n; i++) {
        footPoint(params, points[2 * i]!, points[2 * i + 1]!, foot);
        // The foot point moves along the ellipse too, but that is square to the distance.
        out[5 * i] = -foot.nx;
        out[5 * i + 1] = -foot.ny;
        out[5 * i + 2] = -(foot.nx * foot.ux + foot.ny * foot.uy);
        out[5 * i + 3] = -(foot.nx * foot.ux - foot.ny * foot.uy);
        out[5 * i + 4] = -(foot.nx * foot.uy + foot.ny * foot.ux);
      }
    },
  });
}

interface Foot {
  /** Nearest point on the ellipse. */
  x: number;
  y: number;
  /** Signed distance, positive outside. */
  distance: number;
  /** Outward unit normal at the foot point. */
  nx: number;
  ny: number;
  /** The point of the unit circle that maps to the foot point. */
  ux: number;
  uy: number;
}

/** Nearest point of the ellipse (x, y, meanRadius, ovalCos, ovalSin) to a point. */
function footPoint(params: Float64Array, px: number, py: number, foot: Foot): void {
  const [cx, cy, mean, ovalCos, ovalSin] = params as unknown as [number, number, number, number, number];
  const half = Math.hypot(ovalCos, ovalSin);
  const a = Math.abs(mean) + half;
  const b = Math.max(Math.abs(Math.abs(mean) - half), 1e-12 * a);
  const angle = half === 0 ? 0 : 0.5 * Math.atan2(ovalSin, ovalCos);
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  // In the frame of the axes, first quadrant: a >= b, z0 and z1 not negative.
  const x = c * (px - cx) + s * (py - cy);
  const y = -s * (px - cx) + c * (py - cy);
  const z0 = Math.abs(x);
  const z1 = Math.abs(y);
  let f0: number;
  let f1: number;
  if (z1 === 0 && z0 < (a * a - b * b) / a) {
    // On the major axis, inside the evolute: two equal feet, above and below.
    f0 = (a * a * z0) / (a * a - b * b);
    f1 = b * Math.sqrt(Math.max(0, 1 - (f0 / a) ** 2));
  } else {
    // (a z0/(t + a²))² + (b z1/(t + b²))² = 1 falls and is convex: Newton from the left never overshoots.
    let t = Math.max(a * z0 - a * a, b * z1 - b * b);
    for (let i = 0; i < 100; i++) {
      const r0 = (a * z0) / (t + a * a);
      const r1 = (b * z1) / (t + b * b);
      const excess = r0 * r0 + r1 * r1 - 1;
      if (!(excess > 0)) break;
      const next = t + excess / (2 * ((r0 * r0) / (t + a * a) + (r1 * r1) / (t + b * b)));
      if (!(next > t)) break;
      t = next;
    }
    f0 = (a * a * z0) / (t + a * a);
    f1 = (b * b * z1) / (t + b * b);
  }
  const ex = x < 0 ? -f0 : f0;
  const ey = y < 0 ? -f1 : f1;
  let n0 = ex / (a * a);
  let n1 = ey / (b * b);
  const norm = Math.hypot(n0, n1) || 1;
  n0 /= norm;
  n1 /= norm;
  foot.x = cx + c * ex - s * ey;
  foot.y = cy + s * ex + c * ey;
  foot.nx = c * n0 - s * n1;
  foot.ny = s * n0 + c * n1;
  foot.distance = (px - foot.x) * foot.nx + (py - foot.y) * foot.ny;
  // Stretch⁻¹ of the foot point: back along the axes, turned to the frame of the points.
  foot.ux = (c * ex) / a - (s * ey) / b;
  foot.uy = (s * ex) / a + (c * ey) / b;
}
