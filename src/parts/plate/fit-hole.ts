import { fitCircleRobust, medianOf, robustScale, solveLinearLeastSquares } from "../../fit/index.js";

/** Where half height puts the edge on one ray. */
export interface HoleEdge {
  readonly angleRad: number;
  readonly radiusMm: number;
}

/** A hole's upper edge, roughly: slightly oval circle about a centre, local coordinates of its start, mm. */
export interface HoleFit {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  /** Cosine and sine of the second harmonic of the radius: greatest minus smallest diameter is 4 times its amount. */
  readonly ovalMm: readonly [number, number];
  /** Share of the turn whose edge lies on the fit. */
  readonly support: number;
}

const params = 5;
const cutoff = 3.5;
/** Edges in a few directions, of specks and torn rims, fit circles of any size, and of less than none. */
const widest = 3;

/**
 * Fits centre, radius and oval to the edge of a hole whose wall may be seen on one side.
 *
 *       camera to the left      The plate is thick. On the near side its upper edge is seen; on the far side the wall
 *        \      \               below the upper edge comes into view, and if it is as bright as the face, what looks
 *     ____\      |____          like the edge is the lower one. It lies further in by what pose and thickness say. So
 *         |\     |              every ray is free to be either, whichever lies nearer to the fit.
 *
 * @returns undefined where too few edges are seen, or no hole fits them.
 * @param lowerMm how far the lower edge is seen from the upper one at an angle and radius, mm, zero or less.
 */
export function fitHole(
  edges: readonly HoleEdge[],
  lowerMm: (angleRad: number, radiusMm: number) => number,
  leastScatterMm: number,
): HoleFit | undefined {
  const n = edges.length;
  if (n < 24) return undefined;
  const p = new Float64Array(params);
  p[2] = medianOf(edges.map((e) => e.radiusMm));
  // Up to nearly half of the rays may show something else: a shadow, an arbor's end.
  const start = fitCircleRobust(
    Float64Array.from(
      edges.flatMap((e) => [e.radiusMm * Math.cos(e.angleRad), e.radiusMm * Math.sin(e.angleRad)]),
    ),
    { uPointMm: leastScatterMm },
  );
  let scatter = 0.2 * p[2];
  if (start.ok) {
    p.set([start.value.x, start.value.y, start.value.radius]);
    scatter = Math.max(3 * start.value.scale, 0.05 * start.value.radius);
  }
  const residuals = new Float64Array(n);
  const a = new Float64Array(params * n);
  const b = new Float64Array(n);
  const w = new Float64Array(n);
  for (let round = 0; round < 14; round++) {
    edges.forEach((e, i) => {
      // About the centre as it stands, so that its offset stays small.
      const x = e.radiusMm * Math.cos(e.angleRad) - p[0]!;
      const y = e.radiusMm * Math.sin(e.angleRad) - p[1]!;
      const [r, t] = [Math.hypot(x, y), Math.atan2(y, x)];
      const model = p[2]! + p[3]! * Math.cos(2 * t) + p[4]! * Math.sin(2 * t);
      const lower = lowerMm(t, model);
      const own = Math.abs(r - model) <= Math.abs(r - model - lower) ? r : r - lower;
      residuals[i] = own - model;
      a.set([Math.cos(t), Math.sin(t), 1, Math.cos(2 * t), Math.sin(2 * t)], params * i);
      b[i] = own - model;
      const q = residuals[i] / (cutoff * scatter);
      w[i] = Math.abs(q) < 1 ? (1 - q * q) ** 2 : 0;
    });
    // The oval comes last: outliers look like one until the circle stands.
    const fit =
      round < 3
        ? solveLinearLeastSquares(firstThree(a, n), b, 3, w)
        : solveLinearLeastSquares(a, b, params, w);
    if (!fit.ok) return undefined;
    fit.value.params.forEach((d, i) => (p[i]! += d));
    // Drawn in step by step: the centre must have time to follow.
    scatter = Math.max(leastScatterMm, robustScale(residuals), 0.5 * scatter);
  }
  const farthest = edges.reduce((most, e) => Math.max(most, e.radiusMm), 0);
  if (!(p[2] > 0 && p[2] < widest * farthest)) return undefined;
  return {
    xMm: p[0]!,
    yMm: p[1]!,
    // The mean radius of an ellipse lies inside the mean of its semi-axes, to second order in the oval.
    radiusMm: p[2] + (0.75 * (p[3]! ** 2 + p[4]! ** 2)) / p[2],
    ovalMm: [p[3]!, p[4]!],
    support: w.filter((v) => v > 0).length / 96,
  };
}

function firstThree(a: Float64Array, n: number): Float64Array {
  const out = new Float64Array(3 * n);
  for (let i = 0; i < n; i++) out.set(a.subarray(params * i, params * i + 3), 3 * i);
  return out;
}
