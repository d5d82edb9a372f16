import { placeInTurn } from "../../geometry/index.js";
import type { Point } from "../part.js";
import { countEndFace, type EndFace } from "./count-end-face.js";
import { fitStandingPinions, refineFits, type StandingFit } from "./fit-standing-pinion.js";
import type { Eye, SeenLeaf, StandingPinion } from "./swept-leaves.js";

/** Leaves of a pinion seen from its end, its face as high as the wall below it is long. Millimetres on that face. */
export interface Leaves {
  readonly count: number;
  readonly probability: number;
  readonly alternatives: readonly { readonly count: number; readonly probability: number }[];
  readonly xMm: number;
  readonly yMm: number;
  readonly tipMm: number;
  readonly uTipMm: number;
  readonly heightMm: number;
  readonly uHeightMm: number;
  /** Middles of the places of the even division; whether a leaf of its own was seen there. */
  readonly places: readonly { readonly angleRad: number; readonly isSeen: boolean }[];
}

type MetalAt = (xMm: number, yMm: number) => number;
type LightAt = MetalAt;

/** Clock pinions have 6 to 16 leaves as a rule, toys and some watches 5 (trade). */
const [fewest, most] = [5, 16] as const;
/** A figure that leaves this much unexplained, of what it explains, is no pinion. */
const mostShort = 0.45;
/**
 * Depth of the leaves, of their pitch along the tip circle. Those of the samples and of test/scenes have 0.45 and more; the
 * corners of a nut 0.1 to 0.2.
 */
const [leastDepth, leastSureDepth] = [0.25, 0.36] as const;
/** Of its place, so much of a leaf or a space must be seen by itself to say anything. */
const leastOwn = 0.06;
const [asExpected, contrary] = [0.6, 0.4] as const;
/** Of the leaves that can be seen at all, so many must be there. */
const leastConfirmed = 0.75;
/** The lead over the next count: over what remains unexplained, and for each mm of the tip radius, mm. */
const [leastLead, leastLeadMm] = [0.8, 0.4] as const;
const [sure, allSeen, mostUnsure, mostOfTwo] = [0.97, 0.99, 0.9, 0.6] as const;
/** What remains unexplained, as a seam along the whole outline: its length in tip circles, the log-odds of its cells. */
const [outlineTurns, seamOdds] = [1.5, 2.9] as const;
/** Of the wall's length as it is seen, and of what a pinion may stand on, mm. */
const [uWallMm, uStandMm, uUnknownHeightMm] = [0.17, 0.3, 2.5] as const;
/** Pinions are 3 to 12 mm long (common practice, no source). */
const unknownHeightMm = 5;

/**
 * Counts the leaves of a pinion on its end in two ways: by its figure, walls and all, in pictures of different size, and by
 * the light of its end face. Both together may be sure; so may the first alone. The second alone, and both where they differ,
 * are not.
 *
 * @param pictures how surely a point of the mat's plane is metal, 0 to 1, NaN where not seen; one or more.
 * @param middle of the piece of metal; @param reachMm half of its greatest length.
 * @param lightAt natural logarithm of the light at a point of the mat's plane, NaN where not seen.
 * @returns undefined where it is no pinion.
 */
export function countLeaves(
  pictures: readonly MetalAt[],
  middle: Point,
  reachMm: number,
  eye: Eye,
  lightAt?: LightAt,
): Leaves | undefined {
  const byWalls = countByWalls(pictures, middle, reachMm, eye);
  const byFace = lightAt && countEndFace(meanOf(pictures), lightAt, middle, reachMm, eye);
  if (byFace === undefined) return byWalls;
  if (byWalls?.count === byFace.leaves) return isLikely(byFace) ? withFace(byWalls, byFace) : byWalls;
  if (!isSound(byFace)) return byWalls;
  if (byWalls === undefined) return ofFace(byFace, eye, mostUnsure);
  if (byWalls.probability <= mostOfTwo) return ofFace(byFace, eye, mostUnsure, byWalls.count);
  const probability = Math.min(byWalls.probability, mostOfTwo);
  return {
    ...byWalls,
    probability,
    alternatives: [{ count: byFace.leaves, probability: 0.9 * (1 - probability) }],
  };
}

/** Places of which leaf and space are seen for themselves. */
const placesSeen = ({ seen }: EndFace): number =>
  seen.filter((one) => one.metalShare > asExpected && one.paperShare > asExpected).length;
const depthOf = (leaves: number, { rootShare }: StandingPinion): number =>
  ((1 - rootShare) * leaves) / (2 * Math.PI);

/**
 * An end face whose light tells the count: all leaves but one, and the lead over the next count is as large as what remains
 * unexplained. None of 130 known ones was wrong.
 */
const isSound = (face: EndFace): boolean =>
  face.leaves >= fewest &&
  face.leaves <= most &&
  depthOf(face.leaves, face.star) > leastSureDepth &&
  face.leadMm2 > leastFaceLead * face.shortMm2 &&
  face.leadMm2 > leastFaceLeadMm * face.star.tipMm &&
  placesSeen(face) >= face.leaves - 1;
/** Where walls say the same count less will do. */
const isLikely = (face: EndFace): boolean =>
  depthOf(face.leaves, face.star) > leastSureDepth &&
  face.leadMm2 > leastBackedLead * face.shortMm2 &&
  face.leadMm2 > leastBackedLeadMm * face.star.tipMm &&
  placesSeen(face) >= leastConfirmed * face.leaves;
const [leastFaceLead, leastFaceLeadMm] = [0.7, 1.2] as const;
const [leastBackedLead, leastBackedLeadMm] = [0.4, 1] as const;

/** Both ways say the same. */
function withFace(byWalls: Leaves, face: EndFace): Leaves {
  // Five are rare: one of six may be hidden, to both.
  const least = face.leaves === fewest ? mostUnsure : sure;
  const probability = Math.max(byWalls.probability, least);
  const pitch = (2 * Math.PI) / face.leaves;
  const isSeen = (angleRad: number): boolean =>
    face.seen[placeInTurn(Math.round((angleRad - face.leafRad) / pitch), face.leaves)]!.metalShare >
    asExpected;
  return {
    ...byWalls,
    probability,
    alternatives: byWalls.alternatives.map((a) => ({ ...a, probability: 0.9 * (1 - probability) })),
    places: byWalls.places.map((p) => ({ ...p, isSeen: p.isSeen || isSeen(p.angleRad) })),
  };
}

/** What the end face alone tells: not how high it is. */
function ofFace(
  { leaves, next, star, leafRad, seen, shortMm2 }: EndFace,
  eye: Eye,
  probability: number,
  other = next,
): Leaves {
  const by = (eye.zMm - unknownHeightMm) / eye.zMm;
  return {
    count: leaves,
    probability,
    alternatives: [{ count: other, probability: 0.9 * (1 - probability) }],
    xMm: eye.xMm + by * (star.xMm - eye.xMm),
    yMm: eye.yMm + by * (star.yMm - eye.yMm),
    tipMm: by * star.tipMm,
    uTipMm: uTipBySeam(by * star.tipMm, shortMm2),
    heightMm: unknownHeightMm,
    uHeightMm: uUnknownHeightMm,
    places: seen.map((one, k) => ({
      angleRad: (leafRad + (2 * Math.PI * k) / leaves) % (2 * Math.PI),
      isSeen: one.metalShare > asExpected,
    })),
  };
}

/** Counts by the figure that walls and end face make together, as what is metal shows it. */
function countByWalls(
  pictures: readonly MetalAt[],
  middle: Point,
  reachMm: number,
  eye: Eye,
): Leaves | undefined {
  const fits = fitStandingPinions(meanOf(pictures), middle, reachMm, eye);
  const [found, next] = fits;
  if (found === undefined || next === undefined) return undefined;
  const { leaves, pinion, seen } = found;
  const signs = signsOf(found);
  if (leaves < fewest || leaves > most) return undefined;
  const depth = depthOf(leaves, pinion);
  if (depth < leastDepth) return undefined;
  if (found.shortMm2 > mostShort * found.gainMm2) return undefined;
  if (signs.leaves + signs.spaces < 2 * leastConfirmed * leaves) return undefined;
  const lead = found.gainMm2 - next.gainMm2;
  const share = lead / Math.max(found.shortMm2, 0.05 * pinion.tipMm);
  const contraries = signs.noLeaf + signs.noSpace;
  const isSure =
    depth > leastSureDepth &&
    signs.noLeaf === 0 &&
    signs.noSpace <= (share > 2 * leastLead ? leaves / 6 : 1) &&
    signs.leaves + signs.spaces >= 2 * leaves - 3 &&
    share > leastLead &&
    lead > leastLeadMm * pinion.tipMm;
  const full = signs.leaves === leaves && signs.spaces === leaves && share > 2 * leastLead;
  const own = !isSure
    ? mostUnsure * Math.min(1, 0.5 + 0.5 * share) * (1 - contraries / leaves)
    : full
      ? allSeen
      : sure;
  const saysAnother = (one: MetalAt): boolean => {
    const [first] = refineFits(one, middle, reachMm, eye, [found, next]);
    return first !== undefined && first.leaves !== leaves;
  };
  // Asked only where the answer can change the probability.
  const against = own > mostOfTwo && pictures.length > 1 && pictures.some(saysAnother);
  // Five are rare: one of six may be hidden, in all pictures alike.
  const ceiling = against ? mostOfTwo : pictures.length < 2 || leaves === fewest ? mostUnsure : 1;
  const probability = Math.min(own, ceiling);
  const fromFootMm = Math.hypot(pinion.xMm - eye.xMm, pinion.yMm - eye.yMm);
  return {
    count: leaves,
    probability,
    alternatives: [{ count: next.leaves, probability: 0.9 * (1 - probability) }],
    xMm: pinion.xMm,
    yMm: pinion.yMm,
    tipMm: pinion.tipMm,
    uTipMm: uTipBySeam(pinion.tipMm, found.shortMm2),
    heightMm: pinion.heightMm,
    uHeightMm: Math.min(uUnknownHeightMm, Math.hypot(uStandMm, (uWallMm * eye.zMm) / fromFootMm)),
    places: seen.map((one, k) => ({
      angleRad: (found.leafRad + (2 * Math.PI * k) / leaves) % (2 * Math.PI),
      isSeen: isThere(one.leafMm2, one.metalShare, placeMm2(found)),
    })),
  };
}

const uTipBySeam = (tipMm: number, shortMm2: number): number =>
  (2 * shortMm2) / (seamOdds * outlineTurns * 2 * Math.PI * tipMm);

const meanOf =
  (pictures: readonly MetalAt[]): MetalAt =>
  (x, y) => {
    let [sum, n] = [0, 0];
    for (const metalAt of pictures) {
      const m = metalAt(x, y);
      if (Number.isNaN(m)) continue;
      sum += m;
      n++;
    }
    return sum / n;
  };

/** About that of a leaf beyond the body. */
const placeMm2 = ({ leaves, pinion: { tipMm, rootShare } }: StandingFit): number =>
  (0.4 * 2 * Math.PI * tipMm * tipMm * (1 - rootShare)) / leaves;

const isThere = (ownMm2: number, share: number, placeMm2: number): boolean =>
  ownMm2 > leastOwn * placeMm2 && share > asExpected;
const isAbsent = (ownMm2: number, share: number, placeMm2: number): boolean =>
  ownMm2 > leastOwn * placeMm2 && share < contrary;

interface Signs {
  readonly leaves: number;
  readonly spaces: number;
  readonly noLeaf: number;
  readonly noSpace: number;
}

function signsOf(fit: StandingFit): Signs {
  const place = placeMm2(fit);
  const count = (is: (one: SeenLeaf) => boolean): number => fit.seen.filter(is).length;
  return {
    leaves: count((s) => isThere(s.leafMm2, s.metalShare, place)),
    spaces: count((s) => isThere(s.spaceMm2, s.paperShare, place)),
    noLeaf: count((s) => isAbsent(s.leafMm2, s.metalShare, place)),
    noSpace: count((s) => isAbsent(s.spaceMm2, s.paperShare, place)),
  };
}
