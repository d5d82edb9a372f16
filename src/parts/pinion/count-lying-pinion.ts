import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import { isOfBrass } from "../brass-rod.js";
import { countFromSide, type CountFromSide, type SideKind } from "./count-from-side.js";
import { trundleRadius } from "./leaves-from-side.js";
import type { LyingArbor } from "./lying-arbor.js";
import { alikeAlong, readSideProfile } from "./read-side-profile.js";

/** Leaves or trundles of a lying pinion. */
export interface LyingCount {
  readonly kind: SideKind;
  readonly count: number;
  readonly probability: number;
  /** All signs agree; still not sure: one more or one less looks nearly so from one side. */
  readonly isClear: boolean;
  readonly next: number;
  /** Over the leaves, or over the trundles. */
  readonly tipMm: number;
  readonly uTipMm: number;
  /** Of a lantern. */
  readonly trundles?: TrundleSizes;
}

export interface TrundleSizes {
  readonly diameterMm: number;
  readonly uDiameterMm: number;
  /** Of the circle on which their middles stand. */
  readonly circleDiameterMm: number;
  readonly uCircleDiameterMm: number;
}

/** Leaves run straight along the axis: both ends of a pinion look so much alike. What is no pinion, or hidden in part, does not. */
const [leastAlike, leastClearAlike] = [0.85, 0.95] as const;
/** Leaves and arbor with axes so far apart were not both seen as they are, mm. */
const mostAsideMm = 0.15;
/** Caps of a lantern belong to what was found thicker than the arbor, or not: from its ends to look for them, mm. */
const capsMm = [-0.5, 0.5, 1.2] as const;
/**
 * Leads, natural logarithms: over a plain cylinder for the count to be worth a word (where leaves explain what is seen little
 * better, one of six was right), over the next count and the other kind to be clear.
 */
const [leastOverPlain, leastClearLead, leastClearOther] = [12, 7, 3] as const;
/** Thinner in its middle than most of it: between caps. */
const waistShare = 0.93;
/** Light shifts the edges of trundles: scatter of their thickness over their distance, on those counted right. */
const uThickLight = 0.03;
/** Tip radius by the leaves against that by the outline: where they disagree, something else was outlined. */
const mostWider = 0.1;
/** About how often a lead told the right count, of pinions of known number: 1 - share exp(-lead / scale). */
const [wrongShare, leadScale] = [0.6, 3.2] as const;
/** The same of lanterns; what the outline of one is, the network sees less well. */
const [wrongLanternShare, lanternLeadScale, mostUnsureLantern] = [0.75, 4, 0.75] as const;
/** Never sure: of clear ones with known number there were too few, and some of those were wrong, of others with a large lead three of seven. */
const [mostClear, mostUnsure, leastProbability] = [0.85, 0.75, 0.5] as const;
/** Light shifts the edges of leaves that turn away: scatter of the tip radius on those that were counted right, mm. */
const uLightMm = 0.065;
/** With another count goes another radius: of it. */
const uUnsureShare = 0.04;
/** Below, leaves at the edges run together, px of the picture from tip to tip. */
const leastAcrossPx = 24;
/** No pinion of a house clock is so large (common practice, no source): a wheel on edge is. */
const mostAcrossMm = 16;

/** Where a lying pinion has brass. */
export interface BrassOfLying {
  /** No pinion cut in the arbor's steel. */
  readonly inMiddle: boolean;
  /** At how many of its ends, as the caps of a lantern are; a wheel's collet is at one. */
  readonly ends: 0 | 1 | 2;
}

export function brassOf(photo: Photo, view: View, lying: LyingArbor, zMm: number): BrassOfLying {
  const { pinion, axis, angleRad } = lying;
  const isBrassAt = (alongMm: number): boolean =>
    isOfBrass(photo, view, zMm, {
      centreMm: axis.at(pinion.atMm + alongMm),
      angleRad: angleRad + Math.PI / 2,
      lengthMm: 0.8 * pinion.widthMm,
      widthMm: pinion.lengthMm,
    });
  const [left, right] = [-1, 1].map((end) =>
    capsMm.some((capMm) => isBrassAt(end * (pinion.lengthMm / 2 + capMm))),
  );
  return { inMiddle: isBrassAt(0), ends: left && right ? 2 : left || right ? 1 : 0 };
}

/** What the side of a thick part between thin ones shows. */
export interface LyingSide {
  /** Undefined where the half that is seen does not tell the number. */
  readonly count: LyingCount | undefined;
  /** A plain cylinder explains it as well as leaves of any number, and no brass speaks of a lantern: a thicker rod. */
  readonly isPlain: boolean;
}

const untold: LyingSide = { count: undefined, isPlain: false };

/** @param outlineTipMm tip radius from the outline. */
export function countLyingPinion(
  photo: Photo,
  view: View,
  lying: LyingArbor,
  zMm: number,
  outlineTipMm: number,
  brass: BrassOfLying,
): LyingSide {
  if (2 * outlineTipMm > mostAcrossMm || brass.inMiddle) return untold;
  const { waistMm, widthMm } = lying.pinion;
  const hasWaist = brass.ends > 0 || waistMm < waistShare * widthMm;
  const tipMm = hasWaist ? outlineTipMm * Math.min(1, waistMm / widthMm) : outlineTipMm;
  const along = hasWaist ? alikeAlong(photo, view, lying, zMm, tipMm) : undefined;
  const side = readSideProfile(photo, view, lying, zMm, tipMm, along);
  if (side === undefined || 2 * tipMm * side.pxPerMm < leastAcrossPx) return untold;
  const outline = { tipMm, arborMm: lying.rodMm / 2 };
  const kinds: readonly SideKind[] = brass.ends === 2 ? ["lantern"] : hasWaist ? ["cut", "lantern"] : ["cut"];
  const found = countFromSide(side.profile, outline, side.pxPerMm, kinds);
  if (found === undefined || side.alike < leastAlike) return untold;
  if (found.leadOverPlain < leastOverPlain)
    return { ...untold, isPlain: !hasWaist && found.leadOverPlain < 0 };
  const isClear =
    found.lead >= leastClearLead &&
    found.leadOverOther >= leastClearOther &&
    side.alike >= leastClearAlike &&
    Math.abs(found.asideMm) < mostAsideMm &&
    Math.abs(found.tipMm / tipMm - 1) < mostWider;
  const ofKind = 1 / (1 + Math.exp(-found.leadOverOther));
  const probability = isClear ? mostClear : ofKind * unsureProbability(found);
  if (probability < leastProbability) return untold;
  const uTipMm = Math.hypot(found.uTipMm, uLightMm, isClear ? 0 : uUnsureShare * found.tipMm);
  return {
    isPlain: false,
    count: {
      kind: found.kind,
      count: found.count,
      probability,
      isClear,
      next: found.next,
      tipMm: found.tipMm,
      uTipMm,
      ...(found.kind === "lantern" && { trundles: trundleSizes(found, uTipMm) }),
    },
  };
}

const unsureProbability = ({ kind, lead }: CountFromSide): number =>
  kind === "lantern"
    ? Math.min(mostUnsureLantern, 1 - wrongLanternShare * Math.exp(-lead / lanternLeadScale))
    : Math.min(mostUnsure, 1 - wrongShare * Math.exp(-lead / leadScale));

function trundleSizes(
  { count, tipMm, thickShare, uThickShare }: CountFromSide,
  uTipMm: number,
): TrundleSizes {
  const share = trundleRadius(count, { thickShare });
  const more = trundleRadius(count, { thickShare: thickShare + Math.hypot(uThickShare, uThickLight) });
  const uShare = more - share;
  return {
    diameterMm: 2 * share * tipMm,
    uDiameterMm: 2 * Math.hypot(uShare * tipMm, share * uTipMm),
    circleDiameterMm: 2 * (1 - share) * tipMm,
    uCircleDiameterMm: 2 * Math.hypot(uShare * tipMm, (1 - share) * uTipMm),
  };
}
