import { medianOf, robustScale } from "../../fit/index.js";
import type { FaceSampler } from "../face-sampler.js";
import type { PlateSignal } from "./plate-signal.js";

/** A bush let into a plate round a hole. */
export interface Bush {
  readonly radiusMm: number;
}

const sectors = 24;
const raysInSector = 4;
/** Bushes of clocks are 2 to 8 mm across, with at least so much wall (common practice, no source). */
const leastWallMm = 0.5;
const widestMm = 4.2;
/** A seam is compared with the face so far to both sides of it, px. */
const besidePx = 3;
/** A step of colour is compared over so much on both sides, px. */
const stepPx = 5;
/** Sectors that must show it: a punch mark, a scratch, the edge of a neighbouring hole show in a few. */
const leastSectors = 22;
/** So much of the mean. */
const showsShare = 0.4;
/** In standard deviations of what other rings of the same face show. */
const leastOver = 5;
/**
 * Share of the face's light, or of its colour. Rings of plates without bushes show up to 0.04 on rendered photographs
 * of both renderers, seams of bushes 0.24 and more.
 */
const leastSeam = 0.08;
const leastStep = 0.08;
/** Rings that are passed over at the hole, samples. */
const nearHole = 3;

/**
 * A bush is a ring of other brass: a dark seam all round the hole, or a step of colour, the same way in all directions.
 * The rim of an oil sink is a step of brightness too, but one that changes its sign with the light.
 *
 * @param xMm, yMm middle of the hole, local coordinates of the sampler. @param pxMm a pixel, mm.
 */
export function findBush(
  sampler: FaceSampler,
  signal: PlateSignal,
  xMm: number,
  yMm: number,
  holeRadiusMm: number,
  pxMm: number,
): Bush | undefined {
  const step = 0.5 * pxMm;
  const from = holeRadiusMm + leastWallMm;
  const margin = 2 * Math.max(besidePx, stepPx);
  const n = Math.floor((Math.min(widestMm, 3.5 * holeRadiusMm + 1.5) - from) / step);
  if (n < 2 * margin) return undefined;
  const length = n + 2 * margin;
  const light = Array.from({ length: sectors }, () => new Float64Array(length));
  const colour = Array.from({ length: sectors }, () => new Float64Array(length));
  const start = from - margin * step;
  for (let s = 0; s < sectors; s++)
    for (let k = 0; k < raysInSector; k++) {
      const t = (2 * Math.PI * (s + k / raysInSector)) / sectors;
      const [cos, sin] = [Math.cos(t), Math.sin(t)];
      for (let i = 0; i < length; i++) {
        const r = start + i * step;
        if (!sampler.at(xMm + r * cos, yMm + r * sin)) return undefined;
        const l = signal.light(sampler);
        light[s]![i]! += l / raysInSector;
        colour[s]![i]! += signal.colour(sampler) / Math.max(0.2, l) / raysInSector;
      }
    }
  const seam = light.map((profile) => seamsOf(profile, margin, n));
  const steps = colour.map((profile) => stepsOf(profile, margin, n));
  const at = allRound(seam, -leastSeam) ?? allRound(steps, leastStep) ?? allRound(steps, -leastStep);
  return at === undefined ? undefined : { radiusMm: from + at * step };
}

/** Light on a ring, less that to both sides of it. */
function seamsOf(profile: Float64Array, margin: number, n: number): Float64Array {
  const d = 2 * besidePx;
  return Float64Array.from({ length: n }, (_, i) => {
    const k = i + margin;
    const [a, b] = [profile[k - d]!, profile[k + d]!];
    const here = (profile[k - 1]! + profile[k]! + profile[k + 1]!) / 3;
    // Darker than the darker side: a step alone is no seam.
    return Math.min(here - Math.min(a, b), 0) || here - Math.max(a, b);
  });
}

/** Colour inside a ring, less that outside. */
function stepsOf(profile: Float64Array, margin: number, n: number): Float64Array {
  const d = 2 * stepPx;
  return Float64Array.from({ length: n }, (_, i) => {
    let sum = 0;
    for (let k = 2; k <= d; k++) sum += profile[i + margin - k]! - profile[i + margin + k]!;
    return sum / (d - 1);
  });
}

/** Ring on which nearly all sectors show a value beyond `least`, on its side of zero, far beyond other rings. */
function allRound(values: readonly Float64Array[], least: number): number | undefined {
  const n = values[0]!.length;
  const sign = Math.sign(least);
  const mean = Float64Array.from({ length: n }, (_, i) => {
    let sum = 0;
    for (const v of values) sum += sign * v[i]!;
    return sum / values.length;
  });
  // Nearest to the hole its own bevel and shade look like a seam; it falls off from there.
  let best = nearHole;
  for (let i = nearHole; i < n; i++) if (mean[i]! > mean[best]!) best = i;
  if (mean[best]! < mean[best - 1]!) return undefined;
  const usual = medianOf([...mean]);
  const off = mean.map((v) => v - usual);
  if (mean[best]! < Math.abs(least) || off[best]! < leastOver * robustScale(off)) return undefined;
  const showing = values.filter((v) =>
    [best - 1, best, best + 1].some((i) => sign * (v[i] ?? 0) > showsShare * mean[best]!),
  );
  return showing.length >= leastSectors ? best : undefined;
}
