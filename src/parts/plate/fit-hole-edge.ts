import { solveLinearLeastSquares } from "../../fit/index.js";
import { curveStep, edgeCurve, type EdgeCurve } from "./layered-edge.js";
import type { EdgeLook, ShapedHole } from "./learn-edge-look.js";
import { mostOutwards, type HoleRay } from "./read-hole-rays.js";

/** A slightly oval circle: centre, mean radius, cosine and sine of the second harmonic of the radius; mm, local. */
export type HoleShape = readonly [xMm: number, yMm: number, radiusMm: number, cos2Mm: number, sin2Mm: number];

export interface HoleEdgeFit {
  readonly shape: HoleShape;
  /** Standard uncertainties of the shape's five numbers as the texture of the face makes them, mm. */
  readonly uShapeMm: readonly number[];
  /** Share of the rays that do not speak against the shape. */
  readonly support: number;
}

/** Radius of a shape in a direction from the point that it is local to, mm; to first order in its offset. */
export const radiusOf = ([x, y, r, c, s]: HoleShape, t: number): number =>
  r + x * Math.cos(t) + y * Math.sin(t) + c * Math.cos(2 * t) + s * Math.sin(2 * t);

/** Samples that a curve looks at, inwards of the rough edge and the wall, and outwards. */
const inwards = 6;
const outwards = mostOutwards - 3;
/** The rough edge lies somewhere on the bevel, or on the wall. */
const reachIn = 1;
const reachOut = 3;
const widestBevelMm = 0.28;
/** Bevels follow the light of the face beside them in part: they mirror another part of the room. */
const followsFace = 0.5;
const uFollows = 0.05;

function curveOf(ray: HoleRay, shape: HoleShape, look: EdgeLook): EdgeCurve | undefined {
  const level = look.bevelLevelAt(ray.angleRad);
  const light = ray.faceLevel[0] ** followsFace;
  return edgeCurve(ray.profiles, radiusOf(shape, ray.angleRad) / ray.stepMm, ray.faceLevel, {
    sigma: ray.sigma * look.blurScale,
    chromaSigma: ray.chromaSigma,
    bevel: look.bevelMm / ray.stepMm,
    bevelLevel: { value: level.value * light, u: Math.hypot(level.u, uFollows) * light },
    wall: ray.wall,
    inwards,
    outwards,
    reachIn: widestBevelMm / ray.stepMm + reachIn,
    reachOut,
  });
}

const params = 5;
const fewestRays = 24;
const rounds = 12;
/** A ray that is so much worse than at its own best place sees something else: a glint, a shadow, an arbor. */
const usualExcess = 25;
/** Slope and bend of a curve are read over so many samples to both sides. */
const span = 1;
/** Neighbouring rays look at the same pixels, and so do the samples of one. */
const sharedRays = 8;

/**
 * The edge of the hole itself, below its bevel: the shape that all its rays together speak for. Each ray alone may be
 * undecided between two places that are about as good; chosen one by one they would all be wrong one way.
 *
 * @returns undefined where too little of the edge is seen.
 */
export function fitHoleEdge({ rays, shape: rough }: ShapedHole, look: EdgeLook): HoleEdgeFit | undefined {
  const edges = rays.flatMap((ray) => {
    const curve = curveOf(ray, rough, look);
    if (curve === undefined) return [];
    return [{ t: ray.angleRad, stepMm: ray.stepMm, curve, least: Math.min(...curve.misfit) }];
  });
  const n = edges.length;
  if (n < fewestRays) return undefined;
  let shape: HoleShape = [rough[0], rough[1], rough[2] - look.bevelMm / 2, rough[3], rough[4]];
  const excessOf = ({ t, stepMm, curve, least }: (typeof edges)[number]): number =>
    Math.max(0, misfitAt(curve, radiusOf(shape, t) / stepMm) - least);
  const a = new Float64Array(params * n);
  const b = new Float64Array(n);
  const w = new Float64Array(n);
  let uShapeMm: readonly number[] = [];
  for (let round = 0; round < rounds; round++) {
    edges.forEach((edge, i) => {
      const { t, stepMm, curve } = edge;
      const at = radiusOf(shape, t) / stepMm;
      const [before, here, after] = [
        misfitAt(curve, at - span),
        misfitAt(curve, at),
        misfitAt(curve, at + span),
      ];
      const slope = (after - before) / (2 * span);
      // Where a curve bends the wrong way its slope still says where to go.
      const bend = Math.max((after - 2 * here + before) / span ** 2, 0.02 + Math.abs(slope) / 2);
      a.set([1, Math.cos(t), Math.sin(t), Math.cos(2 * t), Math.sin(2 * t)], params * i);
      b[i] = (-slope / bend) * stepMm;
      // A sum of squares is twice the logarithm of a likelihood.
      w[i] = bend / (2 * stepMm ** 2) / (1 + excessOf(edge) / usualExcess) ** 2;
    });
    const fit = solveLinearLeastSquares(a, b, params, w);
    if (!fit.ok) return undefined;
    const [r, x, y, c, s] = fit.value.params as unknown as readonly [number, number, number, number, number];
    shape = [shape[0] + x, shape[1] + y, shape[2] + r, shape[3] + c, shape[4] + s];
    const { covariance } = fit.value;
    uShapeMm = [1, 2, 0, 3, 4].map((k) => Math.sqrt(sharedRays * covariance[k * params + k]!));
  }
  const support = edges.filter((edge) => excessOf(edge) < usualExcess).length / rays.length;
  return { shape, uShapeMm, support };
}

/** By cubic interpolation; beyond its ends a curve goes on as steeply as there. */
function misfitAt({ from, misfit }: EdgeCurve, at: number): number {
  const x = (at - from) / curveStep;
  const last = misfit.length - 1;
  if (x <= 0) return misfit[0]! + Math.max(0, misfit[0]! - misfit[1]!) * -x;
  if (x >= last) return misfit[last]! + Math.max(0, misfit[last]! - misfit[last - 1]!) * (x - last);
  const k = Math.min(last - 1, Math.floor(x));
  const f = x - k;
  const [p0, p1, p2, p3] = [
    misfit[Math.max(0, k - 1)]!,
    misfit[k]!,
    misfit[k + 1]!,
    misfit[Math.min(last, k + 2)]!,
  ];
  return p1 + 0.5 * f * (p2 - p0 + f * (2 * p0 - 5 * p1 + 4 * p2 - p3 + f * (3 * (p1 - p2) + p3 - p0)));
}
