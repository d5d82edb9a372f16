import { failed, ok, type Outcome } from "../problem/index.js";
import { checkPoints, pointSpread, type PointSpread } from "./check-points.js";
import { FootPoint } from "./foot-point.js";
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

/** Share of the points' extent. */
const CLOSE_RMS = 0.02;

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
    // A close fit is the global one.
    if (last.ok && last.value.sumOfSquares < n * CLOSE_RMS ** 2) {
      best = last.value;
      break;
    }
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

function solveFrom(start: Ellipse, points: Float64Array, spread: PointSpread): Outcome<LeastSquaresFit> {
  const n = points.length / 2;
  const half = (start.semiMajor - start.semiMinor) / 2;
  const foot = new FootPoint();
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
      foot.setEllipse(params);
      for (let i = 0; i < n; i++) {
        foot.find(points[2 * i]!, points[2 * i + 1]!);
        out[i] = foot.distance;
      }
    },
    jacobian: (params, out) => {
      foot.setEllipse(params);
      for (let i = 0; i < n; i++) {
        foot.find(points[2 * i]!, points[2 * i + 1]!);
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
