import { medianOf } from "../../fit/index.js";
import { radiusOf, type HoleShape } from "./fit-hole-edge.js";
import { normalShare } from "./layered-edge.js";
import { NormalEquations } from "./normal-equations.js";
import type { HoleRay } from "./read-hole-rays.js";

/** What the edges of the holes of one plate have in common. */
export interface EdgeLook {
  readonly bevelMm: number;
  /** The blur of these edges over that of the markers. */
  readonly blurScale: number;
  /** Brightness of the bevel against the direction from the middle of the hole, the face beside it being 1. */
  readonly bevelLevelAt: (angleRad: number) => { readonly value: number; readonly u: number };
}

/** A hole with its rays and the shape they were found to have so far. */
export interface ShapedHole {
  readonly rays: readonly HoleRay[];
  readonly shape: HoleShape;
}

/** Usual bevel of a hole, and how widely plates differ (common practice, no source), mm. */
const usualMm = 0.1;
const uUsualMm = 0.05;
/** Bevels are a little darker than the face, or much; brighter now and then. */
const usualLevel = { value: 0.6, u: 0.3 };
/** Cameras sharpen, metal more or less than print. */
const uBlurScale = 0.06;
const bevelStepMm = 0.02;
const bevelsMm = Array.from({ length: 12 }, (_, i) => bevelStepMm * (i + 1));
const blurScales = [0.95, 1, 1.05];

interface TriedLook extends Pick<EdgeLook, "bevelMm" | "blurScale"> {
  readonly cost: number;
  readonly levels: readonly number[];
}

/** Until a plate has told. */
const usualLook: EdgeLook = { bevelMm: usualMm, blurScale: 1, bevelLevelAt: () => usualLevel };
const fewestStacks = 4;
/** Errors of the model are alike in all directions: so many stacks speak as one. */
const alikeStacks = 4;

/**
 * Learns the bevel from all holes at once. A single ray cannot tell a dark bevel from the blur of a bare edge: scratches
 * of the face outvote the difference. Laid over each other by direction, the rays of all holes average the scratches
 * out, and the mean edge shows its two steps: how far apart they lie is the bevel's width, how high they are its
 * brightness.
 */
export function learnEdgeLook(holes: readonly ShapedHole[]): EdgeLook {
  const stacks = stacksOf(holes);
  if (stacks.length < fewestStacks) return usualLook;
  const tryLook = (bevelMm: number, blurScale: number): TriedLook => {
    const fits = stacks.map((s) => fitStack(s, bevelMm / s.stepMm, blurScale * s.lightSigma));
    const cost =
      ((bevelMm - usualMm) / uUsualMm) ** 2 +
      ((blurScale - 1) / uBlurScale) ** 2 +
      fits.reduce((sum, fit) => sum + fit.cost / alikeStacks, 0);
    return { cost, bevelMm, blurScale, levels: fits.map((fit) => fit.level) };
  };
  const better = (p: TriedLook, q: TriedLook): TriedLook => (q.cost < p.cost ? q : p);
  const sharp = bevelsMm.map((bevelMm) => tryLook(bevelMm, 1)).reduce(better);
  const best = blurScales
    .flatMap((blurScale) =>
      [-2, -1, 0, 1, 2].map((k) => tryLook(sharp.bevelMm + (k * bevelStepMm) / 2, blurScale)),
    )
    .reduce(better);
  const { bevelMm, blurScale, levels } = best;
  return { bevelMm, blurScale, bevelLevelAt: levelsBetween(stacks, levels) };
}

/** The mean edge of the holes in one direction, against its distance from the shapes, in samples; the face is 1. */
interface Stack {
  readonly angleRad: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly lightSigma: number;
  readonly stepMm: number;
}

const sectors = 24;
/** Sectors overlap by half their width on both sides. */
const cosHalfWidth = Math.cos((1.5 * Math.PI) / sectors);
const fewestRays = 16;
/** A stack's points, in samples: half of one apart. */
const inwards = 5;
const outwards = 4;
const points = Float64Array.from({ length: 2 * (inwards + outwards) + 1 }, (_, i) => i / 2 - inwards);
/** Wall in view up to this, in samples, leaves the edge alone. */
const mostWall = 0.5;
/** Half height lies elsewhere where paper is seen through the hole than where it is dark: share of the face. */
const isLitFrom = 0.5;

function stacksOf(holes: readonly ShapedHole[]): Stack[] {
  const edges = holes.flatMap(({ rays, shape }) =>
    rays.flatMap((ray) => {
      const at = radiusOf(shape, ray.angleRad) / ray.stepMm;
      const { light } = ray.profiles;
      if (ray.wall > mostWall || at - inwards < 1 || at + outwards > light.length - 3) return [];
      const y = points.map((x) => cubicAt(light, at + x) / ray.faceLevel[0]);
      return [{ ray, y, isLit: y[0]! > isLitFrom }];
    }),
  );
  const stacks: Stack[] = [];
  for (let k = 0; k < sectors; k++) {
    const angleRad = (2 * Math.PI * (k + 0.5)) / sectors;
    const here = edges.filter(({ ray }) => Math.cos(ray.angleRad - angleRad) > cosHalfWidth);
    for (const isLit of [false, true]) {
      const alike = here.filter((edge) => edge.isLit === isLit);
      if (alike.length < fewestRays) continue;
      const { lightSigma, stepMm } = alike[0]!.ray;
      stacks.push({ angleRad, x: points, y: middleOf(alike.map(({ y }) => y)), lightSigma, stepMm });
    }
  }
  return stacks;
}

/** Mean of the rows that lie nearest to the median one: whole rows, or its steps would not be those of one edge. */
function middleOf(rows: readonly Float64Array[]): Float64Array {
  const median = points.map((_, i) => medianOf(rows.map((row) => row[i]!)));
  const near = rows
    .map((row) => ({ row, off: row.reduce((sum, v, i) => sum + (v - median[i]!) ** 2, 0) }))
    .sort((p, q) => p.off - q.off)
    .slice(0, Math.ceil(0.75 * rows.length));
  return median.map((_, i) => near.reduce((sum, { row }) => sum + row[i]! / near.length, 0));
}

function cubicAt(values: Float64Array, at: number): number {
  const k = Math.floor(at);
  const f = at - k;
  const [p0, p1, p2, p3] = [values[k - 1]!, values[k]!, values[k + 1]!, values[k + 2]!];
  return p1 + 0.5 * f * (p2 - p0 + f * (2 * p0 - 5 * p1 + 4 * p2 - p3 + f * (3 * (p1 - p2) + p3 - p0)));
}

/** Noise of a point of a stack. */
const uPoint = 0.01;
const uSlope = 0.06;
const uFace = 0.04;
const placeStep = 0.2;
const mostOutwards = 2;
/** Inside, its slope, bevel, face. */
const equations = new NormalEquations(4);
const shares = new Float64Array(4);
const all = [0, 1, 2, 3];

/** The edge lies where inside, bevel and face fit best. */
function fitStack({ x, y }: Stack, bevel: number, sigma: number): { cost: number; level: number } {
  let best = { cost: Infinity, level: usualLevel.value };
  for (let r0 = -bevel - 1; r0 <= mostOutwards; r0 += placeStep) {
    equations.clear();
    equations.believe(1, 0, uSlope);
    equations.believe(2, usualLevel.value, usualLevel.u);
    equations.believe(3, 1, uFace);
    for (let i = 0; i < x.length; i++) {
      const inner = normalShare((r0 - x[i]!) / sigma);
      const within = normalShare((r0 + bevel - x[i]!) / sigma);
      shares[0] = inner;
      shares[1] = inner * Math.min(0, x[i]! - r0);
      shares[2] = within - inner;
      shares[3] = 1 - within;
      equations.add(shares, all, y[i]!, 1 / uPoint ** 2);
    }
    const cost = equations.misfit();
    if (cost >= best.cost) continue;
    const levels = equations.solution();
    best = { cost, level: levels[2]! / levels[3]! };
  }
  return best;
}

/** By how much single bevels differ from the mean one. */
const uLevel = 0.05;

function levelsBetween(stacks: readonly Stack[], levels: readonly number[]): EdgeLook["bevelLevelAt"] {
  const narrow = 1 - Math.cos(Math.PI / sectors);
  return (t) => {
    // Where no stack is near, all count.
    const weights = stacks.map(
      ({ angleRad }) => Math.exp((Math.cos(angleRad - t) - 1) / (2 * narrow)) + 1e-9,
    );
    const sum = weights.reduce((total, w) => total + w, 0);
    const value = weights.reduce((total, w, i) => total + (w * levels[i]!) / sum, 0);
    const spread = weights.reduce((total, w, i) => total + (w * (levels[i]! - value) ** 2) / sum, 0);
    return { value, u: Math.hypot(uLevel, Math.sqrt(spread)) };
  };
}
