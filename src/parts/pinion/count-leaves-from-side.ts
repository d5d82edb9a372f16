import { SideEvidence, type SidePlace, type SideProfile } from "./fit-side-profile.js";
import { cylinderFromSide, leavesFromSide, type LeafForm, type SideOfPinion } from "./leaves-from-side.js";

/** What a profile says about the number of leaves. */
export interface CountFromSide {
  readonly count: number;
  /** Natural logarithm of how much more likely the profile is with it than with the next count. */
  readonly lead: number;
  readonly next: number;
  readonly tipMm: number;
  /** From the spread of tip radii that explain the profile with this count. */
  readonly uTipMm: number;
  readonly asideMm: number;
  /** The same over a plain cylinder. */
  readonly leadOverPlain: number;
}

/** Clock pinions have 6 to 16 leaves as a rule; cannon pinions may have a few more (trade). */
const [fewest, most] = [5, 18] as const;
/** After BS 978-2's profiles, and what is cut thinner or fuller (trade). */
const coarseForms: readonly LeafForm[] = [
  { addendum: 0.6, thickShare: 0.44 },
  { addendum: 0.75, thickShare: 0.53 },
];
const fineForms: readonly LeafForm[] = [0.52, 0.66, 0.82].flatMap((addendum) =>
  [0.43, 0.49, 0.55].map((thickShare) => ({ addendum, thickShare })),
);
/** Of a pitch: one in so many. */
const [coarseTurns, fineTurns] = [12, 24] as const;
const coarseTips = [-0.11, -0.075, -0.04, 0, 0.04, 0.075, 0.11] as const;
const coarseAside = [-0.08, -0.04, 0, 0.04, 0.08] as const;
const fineSteps = [-0.015, 0, 0.015] as const;
/** The best place may lie beyond what was looked at: so often it is gone after. */
const mostMoves = 3;
/** Blurs of a phone's picture, px. */
const blursPx = [0.9, 1.3, 1.8] as const;
const coarseBlur = 1;
/** Places of each count that are looked at again, and counts. */
const [placesAgain, countsAgain] = [3, 4] as const;

/** Of the tip radius as the outline tells it. */
const uTipShare = 0.045;
/** Of the axis as the arbor's outline tells it, mm; and how often a shadow is taken for arbor. */
const [uAxisMm, strayAxes] = [0.09, 0.05] as const;
/** Natural logarithm: less likely places are not looked at. */
const leastLikely = -6;
/** Counts beyond the usual ones are this much less likely (trade), natural logarithm. */
const [firstUsual, lastUsual, unusual] = [6, 16, -2.3] as const;

interface Try extends SidePlace {
  readonly turnShare: number;
  readonly evidence: number;
}

const kept = new Map<string, SideOfPinion>();

function sideOf(leaves: number, turnShare: number, form: LeafForm): SideOfPinion {
  const key = `${leaves} ${turnShare.toFixed(5)} ${form.addendum} ${form.thickShare}`;
  let side = kept.get(key);
  if (side === undefined) {
    side = leavesFromSide(leaves, (2 * Math.PI * turnShare) / leaves, form);
    kept.set(key, side);
  }
  return side;
}

/**
 * Counts the leaves of which one half is seen: where leaves and spaces lie across, and how their spacing closes up
 * towards the edges, fits one count of a pinion of this size.
 *
 * @param profile over somewhat more than the pinion's width. @param tipMm its tip radius, to a tenth.
 * @param pxPerMm of the picture.
 */
export function countLeavesFromSide(
  profile: SideProfile,
  tipMm: number,
  pxPerMm: number,
): CountFromSide | undefined {
  const pairs = 0.5 / pxPerMm / profile.stepMm;
  const evidences = blursPx.map((blur) => new SideEvidence(profile, blur * pairs));
  const coarse = evidences[coarseBlur]!;
  const prior = priorOf(tipMm);
  const counts = Array.from({ length: most - fewest + 1 }, (_, i) => {
    const leaves = fewest + i;
    const tries: Try[] = [];
    for (let turn = 0; turn < coarseTurns; turn++) {
      let best: Try | undefined;
      for (const form of coarseForms) {
        const side = sideOf(leaves, turn / coarseTurns, form);
        for (const wider of coarseTips)
          for (const aside of coarseAside) {
            const place = { tipMm: tipMm * (1 + wider), asideMm: aside * tipMm };
            const likely = prior(place);
            if (likely < leastLikely) continue;
            const evidence = coarse.of(side, place) + likely;
            if (best === undefined || evidence > best.evidence)
              best = { ...place, turnShare: turn / coarseTurns, evidence };
          }
      }
      if (best !== undefined) tries.push(best);
    }
    tries.sort((a, b) => b.evidence - a.evidence);
    return { leaves, tries };
  });
  const seen = counts.filter(({ tries }) => tries.length > 0);
  if (seen.length < 2) return undefined;
  seen.sort((a, b) => b.tries[0]!.evidence - a.tries[0]!.evidence);
  const fine = seen.slice(0, countsAgain).map(({ leaves, tries }) => ({
    leaves,
    ...closely(evidences, prior, leaves, tries.slice(0, placesAgain), tipMm),
  }));
  fine.sort((a, b) => b.evidence - a.evidence);
  const [found, next] = fine as [(typeof fine)[0], (typeof fine)[0]];
  return {
    leadOverPlain: found.best.evidence - plainOver(evidences, prior, tipMm),
    count: found.leaves,
    next: next.leaves,
    lead: found.evidence - next.evidence,
    tipMm: found.tipMm,
    uTipMm: found.uTipMm,
    asideMm: found.asideMm,
  };
}

/** The best evidence of a plain cylinder, wherever it may lie. */
function plainOver(evidences: readonly SideEvidence[], prior: Prior, tipMm: number): number {
  const plain = cylinderFromSide();
  let best = -Infinity;
  for (let wider = -0.15; wider <= 0.15; wider += 0.015)
    for (let aside = -0.12; aside <= 0.12; aside += 0.02) {
      const place = { tipMm: tipMm * (1 + wider), asideMm: aside * tipMm };
      best = Math.max(best, logSum(evidences.map((e) => e.of(plain, place))) + prior(place));
    }
  return best;
}

/** Natural logarithm of how likely a place is before leaves are looked at. */
type Prior = (place: SidePlace) => number;

const priorOf =
  (tipMm: number): Prior =>
  (place) => {
    const off = (place.tipMm / tipMm - 1) / uTipShare;
    const aside = place.asideMm / uAxisMm;
    return Math.log(Math.exp(-0.5 * aside * aside) + strayAxes) - 0.5 * off * off;
  };

/** Evidence of a count, summed over forms, places and blurs near the best ones. */
function closely(
  evidences: readonly SideEvidence[],
  prior: Prior,
  leaves: number,
  starts: readonly Try[],
  tipMm: number,
): { evidence: number; tipMm: number; uTipMm: number; asideMm: number; best: Try } {
  const seen = new Map<string, Try>();
  const lookAround = (start: Try): void => {
    for (let turn = -1; turn <= 1; turn++)
      for (const form of fineForms) {
        const turnShare = (start.turnShare + turn / fineTurns + 1) % 1;
        const side = sideOf(leaves, turnShare, form);
        for (const wider of fineSteps)
          for (const aside of fineSteps) {
            const place = { tipMm: start.tipMm + wider * tipMm, asideMm: start.asideMm + aside * tipMm };
            const key = [
              turnShare,
              form.addendum,
              form.thickShare,
              place.tipMm / tipMm,
              place.asideMm / tipMm,
            ]
              .map((v) => v.toFixed(3))
              .join();
            if (seen.has(key)) continue;
            const likely = prior(place);
            if (likely < leastLikely) continue;
            const evidence = logSum(evidences.map((e) => e.of(side, place))) + likely;
            seen.set(key, { ...place, turnShare, evidence });
          }
      }
  };
  const best = (): Try => [...seen.values()].reduce((a, b) => (b.evidence > a.evidence ? b : a));
  for (const start of starts) lookAround(start);
  for (let move = 0; move < mostMoves; move++) {
    const before = best();
    lookAround(before);
    if (best() === before) break;
  }
  const tries = [...seen.values()];
  const evidence = logSum(tries.map((t) => t.evidence));
  const weights = tries.map((t) => Math.exp(t.evidence - evidence));
  const mean = (of: (t: Try) => number): number => tries.reduce((sum, t, i) => sum + weights[i]! * of(t), 0);
  const tip = mean((t) => t.tipMm);
  const isUsual = leaves >= firstUsual && leaves <= lastUsual;
  return {
    evidence: evidence + (isUsual ? 0 : unusual),
    tipMm: tip,
    uTipMm: Math.sqrt(mean((t) => (t.tipMm - tip) ** 2)),
    asideMm: mean((t) => t.asideMm),
    best: best(),
  };
}

function logSum(values: readonly number[]): number {
  const top = Math.max(...values);
  return top + Math.log(values.reduce((sum, v) => sum + Math.exp(v - top), 0));
}
