import { medianOf } from "../../fit/index.js";
import { radiusOf, type HoleShape } from "./fit-hole-edge.js";
import { bevelOverFace, chromaGain, colourReach, misfitOfLayers, type EdgeProfiles } from "./layered-edge.js";
import { NormalEquations } from "./normal-equations.js";
import type { HoleRay } from "./read-hole-rays.js";

/** What the edges of the holes of one plate have in common. */
export interface EdgeLook {
  readonly bevelMm: number;
  /** The blur of these edges over that of the markers. */
  readonly blurScale: number;
  /** Brightness of the bevel against the direction from the middle of the hole, the face beside it being 1. */
  readonly bevelLevelAt: (angleRad: number) => { readonly value: number; readonly u: number };
  /** How far off all edges may be, samples, since they look like none that the model knows. */
  readonly uStrange: number;
}

/** Looks that explain the mean edges about as well as each other; the weights add up to 1. */
export type LikelyLooks = readonly { readonly look: EdgeLook; readonly weight: number }[];

/** A hole with its rays and the shape they were found to have so far. */
export interface ShapedHole {
  readonly rays: readonly HoleRay[];
  readonly shape: HoleShape;
}

/** Usual bevel of a hole, and how widely plates differ (common practice, no source), mm. */
const usualMm = 0.1;
const uUsualMm = 0.05;
/**
 * A bevel mirrors the sides of the room, which are darker than what is above: often it is as dark as the hole, and what
 * looks like a bare edge is its outer one.
 */
const usualLevel = { value: 0.2, u: 0.2 };
/** Where no plate has told anything. */
const unknownLevel = { value: 0.4, u: 0.3 };
/** All round they are never as bright as the face: that would be no bevel at all. */
const uMeanLevel = 0.3;
const meanOf = (values: readonly number[]): number => values.reduce((sum, v) => sum + v / values.length, 0);
/** Cameras sharpen, metal more or less than print. */
const uBlurScale = 0.03;
const bevelStepMm = 0.02;
const bevelsMm = Array.from({ length: 12 }, (_, i) => bevelStepMm * (i + 1));
const blurScales = [0.85, 0.9, 0.95, 1, 1.05, 1.1, 1.15];
const rounds = 2;

type Blurs = Pick<EdgeLook, "bevelMm" | "blurScale">;

interface TriedLook extends Blurs {
  readonly misfit: number;
  readonly cost: number;
  readonly levels: readonly number[];
}

/** An edge of which only the width of its bevel is known. */
export const lookOf = (bevelMm: number): EdgeLook => ({
  bevelMm,
  blurScale: 1,
  bevelLevelAt: () => unknownLevel,
  uStrange: 0,
});
/** Until a plate has told. */
const usualLook = lookOf(usualMm);
/** Of a plate that tells nothing: three points with the mean and the spread of what is usual. */
const usualLooks: LikelyLooks = [
  { look: usualLook, weight: 2 / 3 },
  { look: lookOf(usualMm - Math.sqrt(3) * uUsualMm), weight: 1 / 6 },
  { look: lookOf(usualMm + Math.sqrt(3) * uUsualMm), weight: 1 / 6 },
];
const fewestStacks = 4;
/** Errors of the model are alike in all directions: so many stacks speak as one. */
const alikeStacks = 4;

/**
 * Learns the bevel from all holes at once. A single ray cannot tell a dark bevel from the blur of a bare edge: scratches
 * of the face outvote the difference. Laid over each other by direction, the rays of all holes average the scratches
 * out, and the mean edge shows its two steps: how far apart they lie is the bevel's width, how high they are its
 * brightness.
 */
export function learnEdgeLook(holes: readonly ShapedHole[]): LikelyLooks {
  const stacks = stacksOf(holes);
  if (stacks.length < fewestStacks) return usualLooks;
  const tryLook = (look: Blurs): TriedLook => {
    const { misfit, levels } = fitStacks(stacks, look);
    const cost =
      ((look.bevelMm - usualMm) / uUsualMm) ** 2 +
      ((look.blurScale - 1) / uBlurScale) ** 2 +
      ((meanOf(levels) - usualLevel.value) / uMeanLevel) ** 2 +
      misfit / alikeStacks;
    return { ...look, cost, misfit, levels };
  };
  const better = (p: TriedLook, q: TriedLook): TriedLook => (q.cost < p.cost ? q : p);
  const tried = new Map<string, TriedLook>();
  const tryOnce = ({ bevelMm, blurScale }: Blurs): TriedLook => {
    const key = `${bevelMm.toFixed(3)} ${blurScale}`;
    const look = tried.get(key) ?? tryLook({ bevelMm, blurScale });
    tried.set(key, look);
    return look;
  };
  let best = tryOnce(usualLook);
  for (let round = 0; round < rounds; round++) {
    const from = best;
    best = blurScales.map((blurScale) => tryOnce({ ...from, blurScale })).reduce(better, best);
    const next = best;
    best = bevelsMm.map((bevelMm) => tryOnce({ ...next, bevelMm })).reduce(better, best);
  }
  const uStrange = strangenessOf(best, stacks.length);
  const likely = bevelsMm
    .map((bevelMm) => tryOnce({ ...best, bevelMm }))
    .map((tried) => ({ tried, weight: Math.exp((best.cost - tried.cost) / 2) }))
    .sort((p, q) => q.weight - p.weight)
    .filter(({ weight }, i) => i < mostLooks && weight > leastWeight);
  const all = likely.reduce((sum, { weight }) => sum + weight, 0);
  return likely.map(({ tried: { bevelMm, blurScale, levels }, weight }) => ({
    look: { bevelMm, blurScale, bevelLevelAt: levelsBetween(stacks, levels), uStrange },
    weight: weight / all,
  }));
}

/** Bevels that are less likely than the best one by this factor change nothing. */
const leastWeight = 0.1;
const mostLooks = 5;

/** Samples of half a pixel, where the best blur lies at an end of what was tried. */
const uAtEnd = 0.7;
/** Of one stack, in variances of its noise: found on rendered plates. */
const usualMisfit = 25;
/** For each time that the residuals are larger than usual, samples. */
const uPerResidual = 1.2;

/** White balance that went by the metal, a camera that smooths, a lit bevel: residuals tell, whatever the reason. */
function strangenessOf({ blurScale, misfit }: TriedLook, stacks: number): number {
  // A hole without a bevel is none.
  const isAtEnd = blurScale === blurScales[0] || blurScale === blurScales[blurScales.length - 1];
  const larger = Math.max(0, Math.sqrt(misfit / stacks / usualMisfit) - 1);
  return Math.hypot(isAtEnd ? uAtEnd : 0, uPerResidual * larger);
}

/** The mean edge of the holes in one direction, against its distance from the shapes, in samples; the face is 1. */
interface Stack {
  readonly isLit: boolean;
  readonly angleRad: number;
  readonly profiles: EdgeProfiles;
  readonly sigma: number;
  readonly chromaSigma: number;
  readonly stepMm: number;
}

const sectors = 24;
/** Sectors overlap by half their width on both sides. */
const cosHalfWidth = Math.cos((1.5 * Math.PI) / sectors);
const fewestRays = 16;
/** A stack's points, in samples, and those on both sides that colour is blurred from. */
const inwards = 6;
const outwards = 8;
const beside = colourReach;
const points = Float64Array.from(
  { length: inwards + outwards + 2 * beside + 1 },
  (_, i) => i - inwards - beside,
);
/** Wall in view up to this, in samples, leaves the edge alone. */
const mostWall = 0.5;
/** Half height lies elsewhere where paper is seen through the hole than where it is dark: share of the face. */
const isLitFrom = 0.5;

function stacksOf(holes: readonly ShapedHole[]): Stack[] {
  const edges = holes.flatMap(({ rays, shape }) =>
    rays.flatMap((ray) => {
      const at = radiusOf(shape, ray.angleRad) / ray.stepMm;
      const { light, chroma, gain } = ray.profiles;
      const faceGain = chromaGain(ray.faceLevel[0]);
      if (ray.wall > mostWall || at - inwards < 1 || at + outwards > light.length - 3) return [];
      const y = Float64Array.of(
        ...points.map((x) => cubicAt(light, at + x) / ray.faceLevel[0]),
        ...points.map((x) => cubicAt(chroma, at + x) / ray.faceLevel[1]),
        ...points.map((x) => cubicAt(gain, at + x) / faceGain),
      );
      return [{ ray, y, isLit: y[beside + 1]! > isLitFrom }];
    }),
  );
  const stacks: Stack[] = [];
  for (let k = 0; k < sectors; k++) {
    const angleRad = (2 * Math.PI * (k + 0.5)) / sectors;
    const here = edges.filter(({ ray }) => Math.cos(ray.angleRad - angleRad) > cosHalfWidth);
    for (const isLit of [false, true]) {
      const alike = here.filter((edge) => edge.isLit === isLit);
      if (alike.length < fewestRays) continue;
      const { sigma, chromaSigma, stepMm, profiles } = alike[0]!.ray;
      const { hasColour } = profiles;
      const y = middleOf(alike.map(({ y }) => y));
      const n = points.length;
      const [light, chroma, gain] = [y.slice(0, n), y.slice(n, 2 * n), y.slice(2 * n)];
      stacks.push({
        isLit,
        angleRad,
        profiles: { light, chroma, gain, hasColour },
        sigma,
        chromaSigma,
        stepMm,
      });
    }
  }
  return stacks;
}

/** Mean of the rows that lie nearest to the median one: whole rows, or its steps would not be those of one edge. */
function middleOf(rows: readonly Float64Array[]): Float64Array {
  const median = rows[0]!.map((_, i) => medianOf(rows.map((row) => row[i]!)));
  const near = rows
    .map((row) => ({ row, off: row.reduce((sum, v, i) => sum + (v - median[i]!) ** 2, 0) }))
    .sort((p, q) => p.off - q.off)
    .slice(0, Math.ceil(0.75 * rows.length));
  return median.map((_, i) => near.reduce((sum, { row }) => sum + row[i]! / near.length, 0));
}

function cubicAt(values: Float64Array, at: number): number {
  const k = Math.max(1, Math.min(values.length - 3, Math.floor(at)));
  const f = Math.max(0, Math.min(1, at - k));
  const [p0, p1, p2, p3] = [values[k - 1]!, values[k]!, values[k + 1]!, values[k + 2]!];
  return p1 + 0.5 * f * (p2 - p0 + f * (2 * p0 - 5 * p1 + 4 * p2 - p3 + f * (3 * (p1 - p2) + p3 - p0)));
}

/** Noise of a point of a stack. */
const uLight = 0.01;
const uChroma = 0.02;
const uFace = 0.04;
const placeStep = 0.4;
const mostOutwards = 2.5;
const solveRounds = 6;
/**
 * Mean edges lie this near to the shapes, samples: in their radius, and in each of their two waves. A wave of the bevel's
 * brightness looks much like a shift of all holes, and mean edges hardly tell the two apart.
 */
const uRadiusShift = 3;
const uWaveShift = 0.5;

const uShifts = [uRadiusShift, uWaveShift, uWaveShift, uWaveShift, uWaveShift, uRadiusShift];

/** Misfit and brightness of the bevel against the place of the edge. */
interface StackCurve {
  readonly from: number;
  readonly misfit: Float64Array;
  readonly level: Float64Array;
}

function curveOf({ profiles, sigma, chromaSigma, stepMm }: Stack, look: Blurs): StackCurve {
  const bevel = look.bevelMm / stepMm;
  const edge = {
    profiles,
    from: beside,
    to: beside + inwards + outwards,
    sigma: look.blurScale * sigma,
    chromaSigma,
    bevel,
    bevelLevel: usualLevel,
    wall: 0,
    faceLevel: [1, 1],
    uFace,
    uLight,
    uChroma,
  } as const;
  const from = -bevel - 1.5;
  const count = Math.ceil((mostOutwards - from) / placeStep) + 1;
  const [misfit, level] = [new Float64Array(count), new Float64Array(count)];
  for (let i = 0; i < count; i++) {
    misfit[i] = misfitOfLayers(edge, from + i * placeStep + inwards + beside);
    level[i] = bevelOverFace();
  }
  return { from, misfit, level };
}

/** Parabola through the three nearest places: value and slope; straight on beyond the ends. */
function along({ from, misfit }: StackCurve, at: number): { value: number; slope: number; bend: number } {
  const x = (at - from) / placeStep;
  const k = Math.max(1, Math.min(misfit.length - 2, Math.round(x)));
  const f = Math.max(-1, Math.min(1, x - k));
  const [a, b, c] = [misfit[k - 1]!, misfit[k]!, misfit[k + 1]!];
  const slope = (c - a) / 2 + f * (a - 2 * b + c);
  const value = b + (f * (c - a)) / 2 + (f * f * (a - 2 * b + c)) / 2 + (x - k - f) * slope;
  return { value, slope: slope / placeStep, bend: (a - 2 * b + c) / placeStep ** 2 };
}

/**
 * All mean edges at once. Holes are round or oval, so that what their shapes have in common by mistake has no more
 * than two waves a turn: edges of single directions may not choose their places by themselves.
 */
function fitStacks(stacks: readonly Stack[], look: Blurs): { misfit: number; levels: readonly number[] } {
  const curves = stacks.map((stack) => curveOf(stack, look));
  const rows = stacks.map(({ angleRad: t, isLit }) => [
    1,
    Math.cos(t),
    Math.sin(t),
    Math.cos(2 * t),
    Math.sin(2 * t),
    isLit ? 1 : 0,
  ]);
  const n = rows[0]!.length;
  const first = curves[0]!;
  const sums = first.misfit.map((_, i) => curves.reduce((sum, c) => sum + c.misfit[i]!, 0));
  let params = [first.from + placeStep * sums.indexOf(Math.min(...sums)), 0, 0, 0, 0, 0];
  const placeOf = (row: readonly number[]): number => row.reduce((sum, v, j) => sum + v * params[j]!, 0);
  for (let round = 0; round < solveRounds; round++) {
    const equations = new NormalEquations(n);
    params.forEach((p, j) => equations.believe(j, -p, uShifts[j]!));
    rows.forEach((row, i) => {
      const { slope, bend } = along(curves[i]!, placeOf(row));
      const stiff = Math.max(bend, 0.5 * Math.abs(slope), 1);
      equations.add(Float64Array.from(row), [0, 1, 2, 3, 4, 5], -slope / stiff, stiff / 2);
    });
    equations.misfit();
    const step = equations.solution();
    params = params.map((p, j) => p + step[j]!);
  }
  const places = rows.map(placeOf);
  return {
    misfit: curves.reduce((sum, curve, i) => sum + along(curve, places[i]!).value, 0),
    levels: curves.map(({ from, level }, i) => {
      const x = Math.max(0, Math.min(level.length - 1.001, (places[i]! - from) / placeStep));
      const k = Math.floor(x);
      return level[k]! + (x - k) * (level[k + 1]! - level[k]!);
    }),
  };
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
