import { medianOf } from "../../fit/index.js";
import type { Point } from "../part.js";
import { cellsOfPiece, type MetalCells } from "./metal-cells.js";
import {
  leastRoot,
  phases,
  SweptLeaves,
  type Eye,
  type SeenLeaf,
  type StandingPinion,
} from "./swept-leaves.js";

/** How surely a point of the mat's plane is metal, 0 to 1; NaN where not seen. */
type MetalAt = (xMm: number, yMm: number) => number;
/** Natural logarithm of the light there; NaN where not seen. */
type LightAt = (xMm: number, yMm: number) => number;

/** The figure that an end face makes by its own light, on the plane of the mat. */
export interface EndFace {
  readonly leaves: number;
  /** The next likely count. */
  readonly next: number;
  /** Log-likelihoods, one for each mm² of the mat. */
  readonly gainMm2: number;
  readonly leadMm2: number;
  readonly shortMm2: number;
  /** On the plane of the mat. */
  readonly star: StandingPinion;
  /** Middle of one leaf. */
  readonly leafRad: number;
  /** From the leaf at `leafRad` on, counter-clockwise. */
  readonly seen: readonly SeenLeaf[];
}

const [fewest, most] = [4, 20] as const;
/** Cells to the radius: for the first look, for the last. */
const perRadius = [11, 18] as const;
const thinnestCellMm = 0.08;
/** Of fewer cells no star is told. */
const leastCells = 60;
/** Into so many groups the lights of a piece are parted; one of them may be the face. */
const groupCounts = [2, 3] as const;
/** Groups that are looked at again: those in which a star explains most. */
const groupsRefined = 2;
/** Spread of one face's light by polish and grain, natural logarithm, at the least. */
const leastSpread = 0.06;
/** Of that spread: how softly one group ends at the next. */
const softShare = 0.5;
const mostSure = 0.95;
/** What an arbor may hide, of the radius of a disc as large as the face: from where on, how far aside; and its own foot. */
const arbor = { from: -0.3, halfWidth: 0.45, foot: 0.6 } as const;
/** Where the tips lie among the cells of the face, by distance from their middle; and what is tried of it. */
const outerPlace = 0.97;
const tipShares = [0.92, 0.98, 1.04] as const;
const rootShares = [0.45, 0.6, 0.72] as const;
const halfWidths = [0.14, 0.22] as const;
/** Counts for which the last word is asked. */
const mostRefined = 4;
const [rounds, smallestStep] = [5, 0.2] as const;

/**
 * Counts the leaves of an end face by its light: leaves and body of a face are one flat surface, and as bright as each
 * other, walls below it are not. Undefined where no light makes a star.
 */
export function countEndFace(
  metalAt: MetalAt,
  lightAt: LightAt,
  middle: Point,
  reachMm: number,
  eye: Eye,
): EndFace | undefined {
  const [coarse, fine] = perRadius.map((cells) => cellsFor(metalAt, lightAt, middle, reachMm, cells));
  if (coarse === undefined || fine === undefined) return undefined;
  const lights = coarse.lights.filter((v, i) => coarse.cells.logOdds[i]! > 0 && !Number.isNaN(v));
  if (lights.length < leastCells) return undefined;
  const tried = groupCounts
    .flatMap((k) => groupsOf(lights, k))
    .flatMap((group) => {
      const starts = startsIn(faceCells(coarse, group, eye), eye);
      return starts === undefined ? [] : [{ group, ...starts }];
    });
  tried.sort((a, b) => b.explained - a.explained);
  const faces = tried
    .slice(0, groupsRefined)
    .map(({ group, fits }) => starOf(faceCells(fine, group, eye), eye, fits));
  return faces.length === 0 ? undefined : faces.reduce((a, b) => (clearness(b) > clearness(a) ? b : a));
}

const clearness = ({ leadMm2, shortMm2 }: EndFace): number => leadMm2 / shortMm2;

/** Metal, and how light each cell of it is; natural logarithms. */
interface LitCells {
  readonly cells: MetalCells;
  readonly lights: Float64Array;
}

function cellsFor(
  metalAt: MetalAt,
  lightAt: LightAt,
  middle: Point,
  reachMm: number,
  cellsToRadius: number,
): LitCells | undefined {
  const cellMm = Math.max(thinnestCellMm, (0.7 * reachMm) / cellsToRadius);
  const cells = cellsOfPiece(metalAt, middle, reachMm + 1.5, cellMm);
  return cells && { cells, lights: Float64Array.from(cells.xMm, (x, i) => lightAt(x, cells.yMm[i]!)) };
}

interface Group {
  readonly middle: number;
  readonly spread: number;
  /** Lights at which it meets its neighbours. */
  readonly from: number;
  readonly to: number;
}

/** k means of one dimension, from evenly spread quantiles. */
function groupsOf(lights: Float64Array, k: number): readonly Group[] {
  const sorted = Float64Array.from(lights).sort();
  let middles = Array.from({ length: k }, (_, g) => sorted[Math.floor(((g + 0.5) / k) * sorted.length)]!);
  let bounds: number[] = [];
  for (let round = 0; round < 20; round++) {
    bounds = middles.slice(1).map((m, g) => (m + middles[g]!) / 2);
    const own = middles.map((_, g) => within(sorted, bounds[g - 1] ?? -Infinity, bounds[g] ?? Infinity));
    middles = own.map((values, g) =>
      values.length === 0 ? middles[g]! : values.reduce((s, v) => s + v, 0) / values.length,
    );
  }
  return middles.map((middle, g) => {
    const [from, to] = [bounds[g - 1] ?? -Infinity, bounds[g] ?? Infinity];
    const own = within(sorted, from, to);
    const spread = own.length === 0 ? 0 : 1.4826 * medianOf([...own].map((v) => Math.abs(v - middle)));
    return { middle, spread: Math.max(leastSpread, spread), from, to };
  });
}

const within = (sorted: Float64Array, from: number, to: number): Float64Array =>
  sorted.filter((v) => v >= from && v < to);

/** Cells by how surely they are of the face. The arbor on it hides what lies behind: metal of another light there says nothing. */
function faceCells({ cells, lights }: LitCells, group: Group, eye: Eye): MetalCells {
  const { xMm, yMm, cellMm } = cells;
  const odds = Float64Array.from(lights, (light, i) => {
    const metal = 1 / (1 + Math.exp(-cells.logOdds[i]!));
    const p = Math.min(mostSure, Math.max(1 - mostSure, metal * likeness(light, group)));
    return Math.log(p / (1 - p));
  });
  const on = [...odds.keys()].filter((i) => odds[i]! > 0);
  if (on.length === 0) return { ...cells, logOdds: odds };
  const mean = (of: Float64Array): number => on.reduce((sum, i) => sum + of[i]!, 0) / on.length;
  const [x, y] = [mean(xMm), mean(yMm)];
  const fromFootMm = Math.hypot(x - eye.xMm, y - eye.yMm) || 1;
  const [ax, ay] = [(x - eye.xMm) / fromFootMm, (y - eye.yMm) / fromFootMm];
  const radiusMm = Math.sqrt((on.length * cellMm ** 2) / Math.PI);
  for (let i = 0; i < odds.length; i++) {
    if (odds[i]! > 0 || cells.logOdds[i]! <= 0) continue;
    const [dx, dy] = [(xMm[i]! - x) / radiusMm, (yMm[i]! - y) / radiusMm];
    const isBehind = dx * ax + dy * ay > arbor.from && Math.abs(dy * ax - dx * ay) < arbor.halfWidth;
    if (isBehind || Math.hypot(dx, dy) < arbor.foot) odds[i] = 0;
  }
  return { ...cells, logOdds: odds };
}

/** 1 well within the lights of a group; what was not seen may be of it. */
function likeness(light: number, { spread, from, to }: Group): number {
  if (Number.isNaN(light)) return 0.5;
  const soft = softShare * spread;
  return 1 / (1 + Math.exp((from - light) / soft)) / (1 + Math.exp((light - to) / soft));
}

interface Fit {
  readonly leaves: number;
  readonly star: StandingPinion;
  readonly gainMm2: number;
  readonly phase: number;
}

type Weigher = (leaves: number, star: StandingPinion) => Fit;

const weigherOf =
  (swept: SweptLeaves): Weigher =>
  (leaves, star) => {
    const { rootShare, halfWidth } = star;
    const isStar = rootShare > leastRoot && rootShare < 0.92 && halfWidth > 0.06 && halfWidth < 0.36;
    if (!isStar) return { leaves, star, gainMm2: -Infinity, phase: 0 };
    const phase = swept.weigh(leaves, star);
    return { leaves, star, gainMm2: swept.bestGainMm2, phase };
  };

interface Starts {
  /** Best first. */
  readonly fits: readonly Fit[];
  /** Of what a figure would gain that covers the face and nothing else. */
  readonly explained: number;
}

/** Each count at its best, about the middle of the face. */
function startsIn(cells: MetalCells, eye: Eye): Starts | undefined {
  const { xMm, yMm, logOdds } = cells;
  const on = [...logOdds.keys()].filter((i) => logOdds[i]! > 0);
  if (on.length < leastCells) return undefined;
  const [x, y] = [medianOf(on.map((i) => xMm[i]!)), medianOf(on.map((i) => yMm[i]!))];
  const radii = Float64Array.from(on, (i) => Math.hypot(xMm[i]! - x, yMm[i]! - y)).sort();
  const outerMm = radii[Math.floor(outerPlace * radii.length)]!;
  const swept = new SweptLeaves(cells, eye);
  const weigh = weigherOf(swept);
  const best = new Map<number, Fit>();
  for (const share of tipShares)
    for (const rootShare of rootShares)
      for (const halfWidth of halfWidths) {
        const star = {
          xMm: x,
          yMm: y,
          tipMm: share * outerMm,
          heightMm: 0,
          rootShare,
          halfWidth,
          arborRadiusMm: 0,
          arborUpMm: 0,
        };
        for (let leaves = fewest; leaves <= most; leaves++) {
          const fit = weigh(leaves, star);
          if (fit.gainMm2 > (best.get(leaves)?.gainMm2 ?? -Infinity)) best.set(leaves, fit);
        }
      }
  const fits = [...best.values()].sort((a, b) => b.gainMm2 - a.gainMm2);
  return { fits, explained: fits[0]!.gainMm2 / swept.mostGainMm2 };
}

function starOf(cells: MetalCells, eye: Eye, starts: readonly Fit[]): EndFace {
  const swept = new SweptLeaves(cells, eye);
  const weigh = weigherOf(swept);
  const fits = starts
    .slice(0, mostRefined)
    .map(({ leaves, star }) => refined(weigh(leaves, star), weigh))
    .sort((a, b) => b.gainMm2 - a.gainMm2);
  const [found, next] = fits as [Fit, Fit];
  return {
    leaves: found.leaves,
    next: next.leaves,
    gainMm2: found.gainMm2,
    leadMm2: found.gainMm2 - next.gainMm2,
    shortMm2: swept.mostGainMm2 - found.gainMm2,
    star: found.star,
    leafRad: (2 * Math.PI * (found.phase + 0.5 / phases)) / found.leaves,
    seen: swept.seenOf(found.leaves, found.star, found.phase),
  };
}

function refined(start: Fit, fitOf: Weigher): Fit {
  let at = start;
  const sideMm = 0.03 * start.star.tipMm;
  const moves: ((s: StandingPinion, by: number) => StandingPinion)[] = [
    (s, by) => ({ ...s, xMm: s.xMm + by * sideMm }),
    (s, by) => ({ ...s, yMm: s.yMm + by * sideMm }),
    (s, by) => ({ ...s, tipMm: s.tipMm + by * sideMm }),
    (s, by) => ({ ...s, rootShare: s.rootShare + 0.06 * by }),
    (s, by) => ({ ...s, halfWidth: s.halfWidth + 0.035 * by }),
  ];
  for (let round = 0, step = 1; round < rounds && step > smallestStep; round++) {
    let moved = false;
    for (const move of moves)
      for (const by of [step, -step])
        for (;;) {
          const next = fitOf(at.leaves, move(at.star, by));
          if (next.gainMm2 < at.gainMm2 + 1e-4) break;
          at = next;
          moved = true;
        }
    if (!moved) step /= 2;
  }
  return at;
}
