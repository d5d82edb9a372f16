import { medianOf, solveLinearLeastSquares } from "../../fit/index.js";
import { layeredEdge } from "./layered-edge.js";
import { edgeOf, type Bevel, type HoleRay } from "./read-hole-edge.js";

/** Usual bevel of a hole, and how widely plates differ (common practice, no source), mm. */
const usualMm = 0.1;
const uUsualMm = 0.06;
const tried = [0.02, 0.06, 0.1, 0.14, 0.18, 0.22, 0.26];
/** Enough to speak for the whole plate, few enough to be quick. */
const mostRays = 240;
const fewestRays = 40;
/** A ray that fits no bevel at all (a shadow, an arbor) must not outvote the others. */
const mostMisfit = 40;
/** Samples looked at: the same for every width, or misfits could not be compared. */
const inwards = 6;
const outwards = 13;

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

/**
 * Bevels that look the same way lie in the same light, in every hole: their brightness is a level and a wave over the
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
  const a = new Float64Array(3 * n);
  const b = Float64Array.from(seen, (s) => s.level);
  seen.forEach(({ t }, i) => a.set([1, Math.cos(t), Math.sin(t)], 3 * i));
  const w = Float64Array.from(seen, (s) => s.sharp);
  let wave = [medianOf([...b]), 0, 0];
  for (let round = 0; round < 6; round++) {
    const fit = solveLinearLeastSquares(a, b, 3, w);
    if (!fit.ok) break;
    wave = [...fit.value.params];
    seen.forEach(({ t, level, sharp }, i) => {
      const q = (level - at(wave, t)) / (4 * uLevel);
      w[i] = Math.abs(q) < 1 ? sharp * (1 - q * q) ** 2 : 1e-6;
    });
  }
  const known = wave;
  return (t) => ({ value: at(known, t), u: uLevel });
}

const at = (wave: readonly number[], t: number): number =>
  wave[0]! + wave[1]! * Math.cos(t) + wave[2]! * Math.sin(t);

/**
 * Width of the bevel that the holes of one plate share, mm: the one under which face, bevel and inside explain what is
 * seen best.
 */
function fitWidth(voting: readonly HoleRay[]): number {
  const misfit = tried.map((bevelMm) => {
    let sum = 0;
    for (const ray of voting) {
      const options = { ...ray, bevel: bevelMm / ray.stepMm, inwards, outwards };
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
