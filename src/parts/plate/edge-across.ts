import type { FaceSampler } from "../face-sampler.js";
import type { Point } from "../part.js";
import type { PlateSignal } from "./plate-signal.js";

/**
 * The edge of a plate on a line across it, from outside inwards: the first half height between metal and whatever has
 * neither its light nor its colour.
 *
 * @param from where the line is at 0, local coordinates of the face, mm. @param outwards its direction.
 * @param outerMm where on the line to begin; @param innerMm where to end.
 * @returns where on the line the edge is, mm; undefined where none is seen.
 */
export function edgeAcross(
  sampler: FaceSampler,
  signal: PlateSignal,
  [x, y]: Point,
  [ux, uy]: Point,
  outerMm: number,
  innerMm: number,
  stepMm: number,
): number | undefined {
  let before = NaN;
  for (let d = outerMm; d > innerMm; d -= stepMm) {
    const isSeen = sampler.at(x + d * ux, y + d * uy);
    const now = isSeen ? Math.min(signal.light(sampler), signal.colour(sampler)) : NaN;
    if (before < 0.5 && now >= 0.5) return d + (stepMm * (now - 0.5)) / (now - before);
    before = now;
  }
  return undefined;
}
