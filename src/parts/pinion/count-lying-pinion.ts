import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import { isOfBrass } from "../brass-rod.js";
import { countLeavesFromSide } from "./count-leaves-from-side.js";
import type { LyingArbor } from "./lying-arbor.js";
import { readSideProfile } from "./read-side-profile.js";

/** Leaves of a lying pinion. */
export interface LyingCount {
  readonly count: number;
  readonly probability: number;
  /** All signs agree; still not sure: one more or one less looks nearly so from one side. */
  readonly isClear: boolean;
  readonly next: number;
  readonly tipMm: number;
  readonly uTipMm: number;
}

/** Leaves run straight along the axis: both ends of a pinion look so much alike. What is no pinion, or hidden in part, does not. */
const [leastAlike, leastClearAlike] = [0.85, 0.95] as const;
/** Leaves and arbor with axes so far apart were not both seen as they are, mm. */
const mostAsideMm = 0.15;
/** Caps of a lantern belong to what was found thicker than the arbor, or not: from its ends to look for them, mm. */
const capsMm = [-0.5, 0.5, 1.2] as const;
/** Leads, natural logarithms: over a plain cylinder to be called leaves at all, over the next count to be clear. */
const [leastOverPlain, leastClearLead] = [5, 7] as const;
/** Tip radius by the leaves against that by the outline: where they disagree, something else was outlined. */
const mostWider = 0.1;
/** About how often a lead told the right count, of pinions of known number: 1 - share exp(-lead / scale). */
const [wrongShare, leadScale] = [0.6, 3.2] as const;
/** Never sure: of clear ones with known number there were too few, and two of those were wrong while the signs were chosen. */
const [mostClear, mostUnsure, leastProbability] = [0.9, 0.85, 0.5] as const;
/** Light shifts the edges of leaves that turn away: scatter of the tip radius on those that were counted right, mm. */
const uLightMm = 0.065;
/** With another count goes another radius: of it. */
const uUnsureShare = 0.04;
/** Below, leaves at the edges run together, px of the picture from tip to tip. */
const leastAcrossPx = 24;
/** No pinion of a house clock is so large (common practice, no source): a wheel on edge is. */
const mostAcrossMm = 16;

/** Whether it has brass at its ends, as the caps of a lantern are, or is of brass: no pinion cut in the arbor's steel. */
export function isOfBrassInPart(photo: Photo, view: View, lying: LyingArbor, zMm: number): boolean {
  const { pinion, axis, angleRad } = lying;
  const ends = capsMm.map((cap) => pinion.lengthMm / 2 + cap);
  return [0, ...ends, ...ends.map((end) => -end)].some((alongMm) =>
    isOfBrass(photo, view, zMm, {
      centreMm: axis.at(pinion.atMm + alongMm),
      angleRad: angleRad + Math.PI / 2,
      lengthMm: 0.8 * pinion.widthMm,
      widthMm: pinion.lengthMm,
    }),
  );
}

/** @param tipMm tip radius from the outline. @returns undefined where the half that is seen does not tell the number. */
export function countLyingPinion(
  photo: Photo,
  view: View,
  lying: LyingArbor,
  zMm: number,
  tipMm: number,
): LyingCount | undefined {
  if (2 * tipMm > mostAcrossMm) return undefined;
  const side = readSideProfile(photo, view, lying, zMm, tipMm);
  if (side === undefined || 2 * tipMm * side.pxPerMm < leastAcrossPx) return undefined;
  const found = countLeavesFromSide(side.profile, tipMm, side.pxPerMm);
  if (found === undefined || side.alike < leastAlike || found.leadOverPlain < leastOverPlain)
    return undefined;
  const isClear =
    found.lead >= leastClearLead &&
    side.alike >= leastClearAlike &&
    Math.abs(found.asideMm) < mostAsideMm &&
    Math.abs(found.tipMm / tipMm - 1) < mostWider;
  const probability = isClear
    ? mostClear
    : Math.min(mostUnsure, 1 - wrongShare * Math.exp(-found.lead / leadScale));
  if (probability < leastProbability) return undefined;
  return {
    count: found.count,
    probability,
    isClear,
    next: found.next,
    tipMm: found.tipMm,
    uTipMm: Math.hypot(found.uTipMm, uLightMm, isClear ? 0 : uUnsureShare * found.tipMm),
  };
}
