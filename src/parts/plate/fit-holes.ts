import { medianOf } from "../../fit/index.js";
import { weighAgainstHalfHeight } from "./against-half-height.js";
import type { CentredHole } from "./centre-hole.js";
import { fitHoleEdge, type HoleEdgeFit, type HoleShape } from "./fit-hole-edge.js";
import { learnEdgeLook, lookOf, type LikelyLooks } from "./learn-edge-look.js";

export interface FittedHole {
  readonly hole: CentredHole;
  readonly fit: HoleEdgeFit;
}

/** Support of a hole that may say how edges look, by half height and by the edge itself. */
const leastSupport = { rough: 0.5, fine: 0.7 };

/** Learnt twice: shapes by half height are off by a third of a pixel here and there, which blurs the mean edge. */
function looksOfEdges(all: readonly CentredHole[]): LikelyLooks {
  // Where the face is blown out no bevel is seen, and a tint passes for one.
  const holes = all.filter((h) => !h.here.isBlown && !h.isTinted && h.sink?.rim === undefined);
  const [first] = learnEdgeLook(holes.filter((h) => h.support > leastSupport.rough));
  return learnEdgeLook(
    holes.flatMap((hole) => {
      const fit = fitHoleEdge(hole, first!.look);
      return fit && fit.support > leastSupport.fine ? [{ rays: hole.rays, shape: fit.shape }] : [];
    }),
  );
}

/**
 * Narrow dark bevels and wide bright ones blur to nearly the same edge. Walls and what is seen through a hole lie beside
 * them, so that a hole moves with the choice: it is fitted under every likely one.
 */
function fitUnderAll(hole: CentredHole, looks: LikelyLooks): HoleEdgeFit | undefined {
  const fits = looks.flatMap(({ look, weight }) => {
    const fit = fitHoleEdge(hole, look);
    return fit === undefined ? [] : [{ fit, weight }];
  });
  const best = fits[0]?.fit;
  if (best === undefined) return undefined;
  const all = fits.reduce((sum, { weight }) => sum + weight, 0);
  const shape = best.shape.map((_, k) =>
    fits.reduce((sum, { fit, weight }) => sum + (weight * fit.shape[k]!) / all, 0),
  ) as unknown as HoleShape;
  const uMm = looks[0]!.look.uStrange * hole.rays[0]!.stepMm;
  const uShapeMm = best.uShapeMm.map((u, k) =>
    Math.sqrt(
      fits.reduce(
        (sum, { fit, weight }) => sum + (weight * (fit.shape[k]! - shape[k]!) ** 2) / all,
        u * u + uMm * uMm,
      ),
    ),
  );
  return { shape, uShapeMm, support: best.support };
}

/** Of the edge between slope and hole (common practice, no source), mm, and how likely each is. */
const sunkBevels = [
  { bevelMm: 0.02, weight: 0.6 },
  { bevelMm: 0.08, weight: 0.4 },
] as const;

/** An oil sink cuts a hole's own bevel off: its edge is sharp, whatever those of the other holes are. */
function looksInSinks([likely]: LikelyLooks): LikelyLooks {
  return sunkBevels.map(({ bevelMm, weight }) => ({
    look: { ...lookOf(bevelMm), blurScale: likely!.look.blurScale },
    weight,
  }));
}

/** The edges of all holes of a plate, below the bevel that they share. */
export function fitHoles(centred: readonly CentredHole[]): FittedHole[] {
  const looks = looksOfEdges(centred);
  const fits = centred.flatMap((hole): FittedHole[] => {
    const fit = fitUnderAll(hole, hole.sink?.rim === undefined ? looks : looksInSinks(looks));
    return fit === undefined ? [] : [{ hole, fit }];
  });
  return weighAgainstHalfHeight(withoutCommonOval(fits));
}

/** So many holes are not worn one way. */
const fewestForOval = 8;
/** What is left of an oval that all holes have in common, once it is taken off. */
const leftOfCommon = 0.3;

/**
 * The light makes the same mistake at all holes of a plate: two waves of a bevel's brightness that were learnt wrong make
 * all of them oval one way. Those of screws and pillars do not wear, those of pivots wear each its own way: what the
 * middle hole shows is none.
 */
function withoutCommonOval(fits: readonly FittedHole[]): FittedHole[] {
  const sure = fits.filter(
    ({ hole, fit }) => !hole.isByOwnFace && hole.sink?.rim === undefined && fit.support > leastSupport.fine,
  );
  if (sure.length < fewestForOval) return [...fits];
  const [cos, sin] = ([3, 4] as const).map((k) => medianOf(sure.map(({ fit }) => fit.shape[k]))) as [
    number,
    number,
  ];
  return fits.map(({ hole, fit }) => {
    if (hole.sink?.rim !== undefined) return { hole, fit };
    const [x, y, r, c, s] = fit.shape;
    const [ux, uy, ur, uc, us] = fit.uShapeMm as readonly [number, number, number, number, number];
    const uShapeMm = [ux, uy, ur, Math.hypot(uc, leftOfCommon * cos), Math.hypot(us, leftOfCommon * sin)];
    return { hole, fit: { ...fit, shape: [x, y, r, c - cos, s - sin], uShapeMm } };
  });
}
