import { ThickOutline } from "../thick-outline.js";
import type { Point } from "../part.js";
import type { CentredHole } from "./centre-hole.js";
import { NormalEquations } from "./normal-equations.js";
import type { PlateFace } from "./plate-face.js";

/** Plates of clocks (common practice, no source), mm. */
const [thinnestMm, thickestMm, stepMm] = [0.8, 3.4, 0.1] as const;
/** An edge lies on the fit to within this, px; further off it says nothing, however far. */
const nearPx = 1;
const rounds = 15;
/** So many rays of all holes must speak for another thickness than the usual one. */
const leastGain = 4;
/** Of a thickness that holes told, and of one that is only usual: found on drawn plates, mm. */
const uToldMm = 0.3;
const uUsualMm = 0.5;

export interface EdgesApart {
  readonly apartMm: number;
  readonly uMm: number;
}

/**
 * How far the upper edges of a plate lie over its lower ones, where nobody knows: it stands on pillars. Lit walls tell, where
 * they pass for the face: what is seen of a hole is a lens, common to the circle of its upper edge and that of its lower one, as
 * far apart as the plate is thick. Where walls are dark only the upper circle is seen, and tells nothing.
 *
 * @param usualMm what is taken where the holes do not tell.
 */
export function edgesApartFromHoles(
  { face, pxMm }: PlateFace,
  holes: readonly CentredHole[],
  usualMm: number,
): EdgesApart {
  const seen = holes
    .filter((h) => h.sink === undefined && !h.here.isBlown)
    .map((hole) => {
      const points = hole.rays.map(({ angleRad, start, stepMm: step }): Point => {
        const r = start * step;
        return [r * Math.cos(angleRad), r * Math.sin(angleRad)];
      });
      const here = { ...face, xMm: face.xMm + hole.xMm, yMm: face.yMm + hole.yMm };
      return { points, perMm: new ThickOutline(here, 1).lowerShiftMm };
    });
  const round = seen.map(({ points }) => lensMisfit(points, [0, 0], nearPx * pxMm));
  const costOf = (apartMm: number): number =>
    seen.reduce((sum, { points, perMm: [x, y] }, i) => {
      const lens = lensMisfit(points, [apartMm * x, apartMm * y], nearPx * pxMm);
      return sum + Math.min(round[i]!, lens);
    }, 0);
  let [best, least] = [usualMm, costOf(usualMm) - leastGain];
  for (let apartMm = thinnestMm; apartMm <= thickestMm; apartMm += stepMm) {
    const cost = costOf(apartMm);
    if (cost < least) [best, least] = [apartMm, cost];
  }
  return { apartMm: best, uMm: best === usualMm ? uUsualMm : uToldMm };
}

/** Of points to what two circles of one size have in common, the second moved by `shift`: sum of squares, each at most 1. */
function lensMisfit(points: readonly Point[], [sx, sy]: Point, nearMm: number): number {
  const n = Math.max(1, points.length);
  const mean = (k: 0 | 1): number => points.reduce((sum, p) => sum + p[k] / n, 0);
  let [x, y] = [mean(0) - sx / 2, mean(1) - sy / 2];
  const farthest = points.reduce((most, p) => Math.max(most, Math.hypot(p[0] - mean(0), p[1] - mean(1))), 0);
  let r = Math.hypot(farthest, Math.hypot(sx, sy) / 2);
  let misfit = points.length;
  for (let round = 0; round < rounds; round++) {
    // Drawn in step by step.
    const near = nearMm * Math.max(1, 4 - round / 2);
    const equations = new NormalEquations(3);
    misfit = 0;
    for (const [px, py] of points) {
      const [ux, uy] = [px - x, py - y];
      const [lx, ly] = [ux - sx, uy - sy];
      const [u, l] = [Math.hypot(ux, uy), Math.hypot(lx, ly)];
      const [dx, dy, d] = u > l ? [ux, uy, u] : [lx, ly, l];
      const off = d - r;
      misfit += Math.min(1, (off / nearMm) ** 2);
      const q = off / (3 * near);
      if (Math.abs(q) >= 1) continue;
      equations.add(Float64Array.of(dx / d, dy / d, 1), [0, 1, 2], off, (1 - q * q) ** 2);
    }
    equations.believe(0, 0, 1e3);
    equations.believe(1, 0, 1e3);
    equations.believe(2, 0, 1e3);
    equations.misfit();
    const step = equations.solution();
    [x, y, r] = [x + step[0]!, y + step[1]!, r + step[2]!];
  }
  return misfit;
}
