import { medianOf } from "../../fit/index.js";
import type { ToothState } from "../part.js";
import { slowAlong } from "./slow-along.js";
import type { ToothPlaces } from "./tooth-places.js";

/** Shares of the tooth depth, up from the root. */
const innerPart = [0.1, 0.45] as const;
const outerPart = [0.55, 1.15] as const;
/** The outer part of a tooth has lost so much of what its fellows have there, and so many scatters. */
const leastLost = 0.18;
const leastScatters = 4.5;

/**
 * Raked teeth that have lost their tips. Their backs run out to a thin edge: where such a tooth has narrowed to a
 * share of its width says little of how long it is, but how much metal is left in its outer part does, over that in
 * its inner part, which tells how bright the tooth is.
 */
export function findCutShortTeeth(places: ToothPlaces, states: readonly ToothState[]): number[] {
  const { coverage, radii, fromRadiusMm, stepMm, rootMm, tipMm, count } = places;
  const share = new Float64Array(count).fill(NaN);
  const between = (k: number, [from, to]: readonly [number, number]): number => {
    const column = (part: number): number =>
      Math.round((rootMm + part * (tipMm - rootMm) - fromRadiusMm) / stepMm);
    let sum = 0;
    for (let j = Math.max(0, column(from)); j < Math.min(radii, column(to)); j++)
      sum += coverage[k * radii + j]!;
    return sum;
  };
  for (let k = 0; k < count; k++)
    if (states[k] === "whole") {
      const inner = between(k, innerPart);
      if (inner > 0) share[k] = between(k, outerPart) / inner;
    }
  const known = share.filter((s) => !Number.isNaN(s));
  if (known.length === 0) return [];
  const usual = medianOf(known);
  const slow = slowAlong(places.angleRad, share);
  if (slow === undefined || !(usual > 0)) return [];
  const least = Math.max(leastLost * usual, leastScatters * slow.scatter);
  return [...share.keys()].filter((k) => slow.residual[k]! < -least);
}
