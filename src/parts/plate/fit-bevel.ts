import { medianOf, solveLinearLeastSquares } from "../../fit/index.js";
import { layeredEdge } from "./layered-edge.js";
import { edgeOf, mostOutwards, widestBevelMm, type Bevel, type HoleRay } from "./read-hole-edge.js";

/** Usual bevel of a hole, and how widely plates differ (common practice, no source), mm. */
const usualMm = 0.1;
const uUsualMm = 0.06;
const tried = [0.02, 0.06, 0.1, 0.14, 0.18, 0.22, widestBevelMm];
/** Enough to speak for the whole plate, few enough to be quick. */
const mostRays = 240;
const fewestRays = 40;
/** A ray that fits no bevel at all (a shadow, an arbor) must not outvote the others. */
const mostMisfit = 40;
/** Samples looked at: the same for every width, or misfits could not be compared. */
const inwards = 6;
const outwards = mostOutwards;

/** The bevel of the holes of one plate: its width, and how bright it is in each direction. */
export function fitBevel(rays: readonly HoleRay[]): Bevel {
  const every = Math.max(1, Math.floor(rays.length / mostRays));
  const voting = rays.filter((_, i) => i % every === 0);
  if (voting.length < fewestRays) return { widthMm: usualMm };
  const widthMm = fitWidth(voting);
  return { widthMm, levelAt: fitLevel(voting, widthMm) };
}

/** A scratch, an oil sink, a neighbour's shade: how far single bevels differ from the smooth curve. */
const uLevel = 0.08;
const mostSharp = 40;
/** Of the curve: a level and four waves, since a bevel glints within some 45 degrees. */
const harmonics = 4;
const unknowns = 1 + 2 * harmonics;

/**
 * Bevels that look the same way lie in the same light, in every hole: their brightness is a level and waves over the
 * directions. On the side where the hole is as dark as its bevel nothing else tells them apart.
 */
function fitLevel(voting: readonly HoleRay[], widthMm: number): NonNullable<Bevel["levelAt"]> {
  const seen = voting.flatMap((ray) => {
    const edge = edgeOf(ray, { widthMm });
    return edge === undefined
      ? []
      : [{ t: ray.angleRad, level: edge.bevelLevel, sharp: Math.min(mostSharp, edge.sharpness) }];
  });
  const n = seen.length;
  const a = new Float64Array(unknowns * n);
  const b = Float64Array.from(seen, (s) => s.level);
  seen.forEach(({ t }, i) => a.set(waves(t), unknowns * i));
  const w = Float64Array.from(seen, (s) => s.sharp);
  let curve = [medianOf([...b]), ...Array.from({ length: unknowns - 1 }, () => 0)];
  const at = (t: number): number => waves(t).reduce((sum, v, i) => sum + v * curve[i]!, 0);
  for (let round = 0; round < 6; round++) {
    const fit = solveLinearLeastSquares(a, b, unknowns, w);
    if (!fit.ok) break;
    curve = [...fit.value.params];
    seen.forEach(({ t, level, sharp }, i) => {
      const q = (level - at(t)) / (4 * uLevel);
      w[i] = Math.abs(q) < 1 ? sharp * (1 - q * q) ** 2 : 1e-6;
    });
  }
  return (t) => ({ value: at(t), u: uLevel });
}

const waves = (t: number): number[] => [
  1,
  ...Array.from({ length: harmonics }, (_, k) => [Math.cos((k + 1) * t), Math.sin((k + 1) * t)]).flat(),
];

/**
 * Width of the bevel that the holes of one plate share, mm: the one under which face, bevel and inside explain what is
 * seen best, the brightness of the bevel following one curve.
 */
function fitWidth(voting: readonly HoleRay[]): number {
  const misfit = tried.map((bevelMm) => {
    const levelAt = fitLevel(voting, bevelMm);
    let sum = 0;
    for (const ray of voting) {
      const bevelLevel = levelAt(ray.angleRad);
      const options = { ...ray, bevel: bevelMm / ray.stepMm, bevelLevel, inwards, outwards };
      const edge = layeredEdge(ray.profiles, ray.start, ray.faceLevel, options);
      sum += Math.min(mostMisfit, edge?.misfit ?? mostMisfit);
    }
    return sum + ((bevelMm - usualMm) / uUsualMm) ** 2;
  });
  const least = misfit.indexOf(Math.min(...misfit));
  if (least === 0 || least === tried.length - 1) return tried[least]!;
  // Vertex of the parabola through the least and its neighbours.
  const [before, at, after] = [misfit[least - 1]!, misfit[least]!, misfit[least + 1]!];
  const step = tried[1]! - tried[0]!;
  return tried[least]! + (step * (before - after)) / (2 * (before - 2 * at + after));
}
