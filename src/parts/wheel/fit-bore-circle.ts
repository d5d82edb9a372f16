import { solveLinearLeastSquares } from "../../fit/index.js";
import type { WallShare } from "./weigh-centres.js";

/** Where one ray meets the edge of a hole. */
export interface HoleEdge {
  readonly angleRad: number;
  readonly radiusMm: number;
  /** How far the lower edge is seen inside the upper one (zero or less). */
  readonly excessMm: number;
}

export interface BoreCircle {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
  readonly uCentre: number;
  readonly uRadius: number;
  readonly perWall: readonly [number, number];
}

/**
 * Circle about a centre that is nearly right: linear, outliers left aside. The wall that is seen on the far side is
 * taken off by the share that is stated: it would be told from an offset of the centre by a slight oval alone, and
 * light makes those.
 */
export function fitBoreCircle(
  edges: readonly HoleEdge[],
  scatterMm: number,
  wall: WallShare,
): BoreCircle | undefined {
  const n = edges.length;
  const a = new Float64Array(3 * n);
  const walls = Float64Array.from(edges, (e) => e.excessMm);
  const b = Float64Array.from(edges, (e) => e.radiusMm - wall.share * e.excessMm);
  const weights = new Float64Array(n).fill(1 / scatterMm ** 2);
  edges.forEach((e, i) => {
    a.set([Math.cos(e.angleRad), Math.sin(e.angleRad), 1], 3 * i);
  });
  let result: BoreCircle | undefined;
  for (let round = 0; round < 4; round++) {
    const fit = solveLinearLeastSquares(a, b, 3, weights);
    const drawn = solveLinearLeastSquares(a, walls, 3, weights);
    if (!fit.ok || !drawn.ok) return undefined;
    const { params: p, covariance: c } = fit.value;
    const [dx, dy, dr] = drawn.value.params;
    // Neighbouring samples share their errors: about a sixth of them are independent.
    const shared = 6;
    result = {
      x: p[0]!,
      y: p[1]!,
      radius: p[2]!,
      uCentre: Math.sqrt((shared * (c[0]! + c[4]!)) / 2),
      uRadius: Math.hypot(Math.sqrt(shared * c[8]!), wall.u * dr!),
      perWall: [-dx!, -dy!],
    };
    edges.forEach((e, i) => {
      const r = b[i]! - p[0]! * Math.cos(e.angleRad) - p[1]! * Math.sin(e.angleRad) - p[2]!;
      const q = r / (4 * scatterMm);
      weights[i] = Math.abs(q) < 1 ? (1 - q * q) ** 2 / scatterMm ** 2 : 1e-9;
    });
  }
  return result;
}
