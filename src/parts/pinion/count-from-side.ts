import { SideEvidence, type SidePlace, type SideProfile } from "./fit-side-profile.js";
import { cylinderFromSide, leavesFromSide, trundlesFromSide, type SideOfPinion } from "./leaves-from-side.js";

/** What a profile says about the number of leaves or trundles. */
export interface CountFromSide {
  readonly kind: SideKind;
  readonly count: number;
  /** Natural logarithm of how much more likely the profile is with it than with the next count. */
  readonly lead: number;
  readonly next: number;
  readonly tipMm: number;
  /** From the spread of tip radii that explain the profile with this count. */
  readonly uTipMm: number;
  readonly asideMm: number;
  /** Thickness of a trundle over their distance along the circle; NaN for a cut pinion. */
  readonly thickShare: number;
  readonly uThickShare: number;
  /** The same over a plain cylinder. */
  readonly leadOverPlain: number;
  /** The same over the best of the other kind; infinite where that was not tried. */
  readonly leadOverOther: number;
}

export type SideKind = "cut" | "lantern";

/** What may be seen: numbers, forms and sizes that are tried. */
interface Tried {
  readonly kind: SideKind;
  readonly fewest: number;
  readonly most: number;
  /** Counts beyond these are less likely (trade). */
  readonly usual: readonly [number, number];
  readonly coarse: readonly Form[];
  readonly fine: readonly Form[];
  readonly coarseTips: readonly number[];
  /** Of the tip radius as the outline tells it. */
  readonly uTipShare: number;
}

interface Form {
  readonly name: string;
  /** NaN for leaves. */
  readonly thickShare: number;
  side(count: number, turnRad: number): SideOfPinion;
}

const leafForm = (addendum: number, thickShare: number): Form => ({
  name: `leaf ${addendum} ${thickShare}`,
  thickShare: NaN,
  side: (leaves, turnRad) => leavesFromSide(leaves, turnRad, { addendum, thickShare }),
});
const trundleForm = (thickShare: number, arborShare: number): Form => ({
  name: `trundle ${thickShare} ${arborShare}`,
  thickShare,
  side: (trundles, turnRad) => trundlesFromSide(trundles, turnRad, { thickShare, arborShare }),
});

const leaves: Tried = {
  kind: "cut",
  // Clock pinions have 6 to 16 leaves as a rule; cannon pinions may have a few more (trade).
  fewest: 5,
  most: 18,
  usual: [6, 16],
  // After BS 978-2's profiles, and what is cut fuller (trade). Thinner: spaces twice as wide as leaves, rounded by half a
  // leaf's width (Goodrich, The Modern Clock, of 8 to 10 leaves).
  coarse: [leafForm(0.53, 0.36), leafForm(0.72, 0.49)],
  fine: [0.52, 0.66, 0.82].flatMap((addendum) =>
    [0.35, 0.43, 0.52].map((thick) => leafForm(addendum, thick)),
  ),
  coarseTips: [-0.11, -0.075, -0.04, 0, 0.04, 0.075, 0.11],
  uTipShare: 0.045,
};
/** Radius of the arbor over that of the pinion is told to so much. */
const arborStep = 0.1;
/** @param arborShare radius of the arbor, of that over the trundles: it may end at the caps. */
const trundles = (arborShare: number): Tried => {
  const arbor = arborStep * Math.round(arborShare / arborStep);
  return {
    kind: "lantern",
    // Lanterns of clocks have 6 to 12 trundles of 0.35 to 0.45 of their distance (common practice, no source).
    fewest: 5,
    most: 13,
    usual: [6, 12],
    coarse: [trundleForm(0.4, arbor)],
    fine: [0.34, 0.4, 0.46].flatMap((thick) => [arbor, 0].map((a) => trundleForm(thick, a))),
    coarseTips: [-0.14, -0.1, -0.06, -0.02, 0.02, 0.06, 0.1, 0.14],
    uTipShare: 0.055,
  };
};

/** Of a pitch: one in so many. */
const [coarseTurns, fineTurns] = [12, 24] as const;
const coarseAside = [-0.08, -0.04, 0, 0.04, 0.08] as const;
const fineSteps = [-0.015, 0, 0.015] as const;
/** The best place may lie beyond what was looked at: so often it is gone after. */
const mostMoves = 3;
/** Blurs of a phone's picture, px. */
const blursPx = [0.9, 1.3, 1.8] as const;
const coarseBlur = 1;
/** Places of each count that are looked at again, and counts. */
const [placesAgain, countsAgain] = [3, 4] as const;

/** Of the axis as the arbor's outline tells it, mm; and how often a shadow is taken for arbor. */
const [uAxisMm, strayAxes] = [0.09, 0.05] as const;
/** Natural logarithm: less likely places are not looked at. */
const leastLikely = -6;
/** Counts beyond the usual ones are this much less likely, natural logarithm. */
const unusual = -2.3;
/** Where it may be either, a lantern is less likely: nearly all have caps of brass (trade); natural logarithm. */
const rareLantern = -2;
/** A kind so far behind at first sight is not looked at again, natural logarithm. */
const farBehind = 12;

interface Try extends SidePlace {
  readonly turnShare: number;
  readonly form: Form;
  readonly evidence: number;
}

const kept = new Map<string, SideOfPinion>();

function sideOf(count: number, turnShare: number, form: Form): SideOfPinion {
  const key = `${form.name} ${count} ${turnShare.toFixed(5)}`;
  let side = kept.get(key);
  if (side === undefined) {
    side = form.side(count, (2 * Math.PI * turnShare) / count);
    kept.set(key, side);
  }
  return side;
}

/** What is known before leaves or trundles are looked at. */
export interface SideOutline {
  /** Tip radius, to a tenth. */
  readonly tipMm: number;
  /** Radius of the arbor. */
  readonly arborMm: number;
}

/**
 * Counts the leaves or trundles of which one half is seen: where they lie across, and how their spacing closes up towards
 * the edges, fits one count of a pinion of this size.
 *
 * @param profile over somewhat more than the pinion's width. @param pxPerMm of the picture.
 * @param kinds what it may be.
 */
export function countFromSide(
  profile: SideProfile,
  { tipMm, arborMm }: SideOutline,
  pxPerMm: number,
  kinds: readonly SideKind[],
): CountFromSide | undefined {
  const pairs = 0.5 / pxPerMm / profile.stepMm;
  const evidences = blursPx.map((blur) => new SideEvidence(profile, blur * pairs));
  const all = kinds
    .map((kind) => (kind === "cut" ? leaves : trundles(arborMm / tipMm)))
    .map((tried) => ({ tried, seen: roughly(evidences[coarseBlur]!, tried, tipMm) }))
    .filter(({ seen }) => seen.length > 1);
  const first = Math.max(...all.map(({ seen }) => seen[0]!.tries[0]!.evidence));
  const near = all.filter(({ seen }) => seen[0]!.tries[0]!.evidence > first - farBehind);
  const fine = near.map(({ tried, seen }) => {
    const rare = kinds.length > 1 && tried.kind === "lantern" ? rareLantern : 0;
    const counts = seen.slice(0, countsAgain).map(({ count, tries }) => ({
      count,
      ...closely(evidences, tried, count, tries.slice(0, placesAgain), tipMm),
    }));
    counts.forEach((c) => (c.evidence += rare));
    counts.sort((a, b) => b.evidence - a.evidence);
    return { tried, counts };
  });
  fine.sort((a, b) => b.counts[0]!.evidence - a.counts[0]!.evidence);
  const [one, other] = fine;
  if (one === undefined) return undefined;
  const [found, next] = one.counts as [(typeof one.counts)[0], (typeof one.counts)[0]];
  return {
    kind: one.tried.kind,
    leadOverPlain: found.best.evidence - plainOver(evidences, one.tried, tipMm),
    leadOverOther:
      other === undefined
        ? all.length > 1
          ? farBehind
          : Infinity
        : found.evidence - other.counts[0]!.evidence,
    count: found.count,
    next: next.count,
    lead: found.evidence - next.evidence,
    tipMm: found.tipMm,
    uTipMm: found.uTipMm,
    asideMm: found.asideMm,
    thickShare: found.thickShare,
    uThickShare: found.uThickShare,
  };
}

interface RoughCount {
  readonly count: number;
  /** Best first. */
  readonly tries: readonly Try[];
}

/** Each count at every turn, best first. */
function roughly(evidence: SideEvidence, tried: Tried, tipMm: number): RoughCount[] {
  const prior = priorOf(tipMm, tried);
  const counts = Array.from({ length: tried.most - tried.fewest + 1 }, (_, i): RoughCount => {
    const count = tried.fewest + i;
    const tries: Try[] = [];
    for (let turn = 0; turn < coarseTurns; turn++) {
      let best: Try | undefined;
      for (const form of tried.coarse) {
        const side = sideOf(count, turn / coarseTurns, form);
        for (const wider of tried.coarseTips)
          for (const aside of coarseAside) {
            const place = { tipMm: tipMm * (1 + wider), asideMm: aside * tipMm };
            const likely = prior(place);
            if (likely < leastLikely) continue;
            const e = evidence.of(side, place) + likely;
            if (best === undefined || e > best.evidence)
              best = { ...place, form, turnShare: turn / coarseTurns, evidence: e };
          }
      }
      if (best !== undefined) tries.push(best);
    }
    tries.sort((a, b) => b.evidence - a.evidence);
    return { count, tries };
  });
  const seen = counts.filter(({ tries }) => tries.length > 0);
  return seen.sort((a, b) => b.tries[0]!.evidence - a.tries[0]!.evidence);
}

/** The best evidence of a plain cylinder, wherever it may lie. */
function plainOver(evidences: readonly SideEvidence[], tried: Tried, tipMm: number): number {
  const plain = cylinderFromSide();
  const prior = priorOf(tipMm, tried);
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
  (tipMm: number, { uTipShare }: Tried): Prior =>
  (place) => {
    const off = (place.tipMm / tipMm - 1) / uTipShare;
    const aside = place.asideMm / uAxisMm;
    return Math.log(Math.exp(-0.5 * aside * aside) + strayAxes) - 0.5 * off * off;
  };

interface CloseCount {
  evidence: number;
  readonly tipMm: number;
  readonly uTipMm: number;
  readonly asideMm: number;
  readonly thickShare: number;
  readonly uThickShare: number;
  readonly best: Try;
}

/** Evidence of a count, summed over forms, places and blurs near the best ones. */
function closely(
  evidences: readonly SideEvidence[],
  tried: Tried,
  count: number,
  starts: readonly Try[],
  tipMm: number,
): CloseCount {
  const prior = priorOf(tipMm, tried);
  const seen = new Map<string, Try>();
  const lookAround = (start: Try): void => {
    for (let turn = -1; turn <= 1; turn++)
      for (const form of tried.fine) {
        const turnShare = (start.turnShare + turn / fineTurns + 1) % 1;
        const side = sideOf(count, turnShare, form);
        for (const wider of fineSteps)
          for (const aside of fineSteps) {
            const place = { tipMm: start.tipMm + wider * tipMm, asideMm: start.asideMm + aside * tipMm };
            const key = [turnShare, place.tipMm / tipMm, place.asideMm / tipMm]
              .map((v) => v.toFixed(3))
              .join()
              .concat(form.name);
            if (seen.has(key)) continue;
            const likely = prior(place);
            if (likely < leastLikely) continue;
            const evidence = logSum(evidences.map((e) => e.of(side, place))) + likely;
            seen.set(key, { ...place, form, turnShare, evidence });
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
  const thick = mean((t) => t.form.thickShare);
  const isUsual = count >= tried.usual[0] && count <= tried.usual[1];
  return {
    evidence: evidence + (isUsual ? 0 : unusual),
    tipMm: tip,
    uTipMm: Math.sqrt(mean((t) => (t.tipMm - tip) ** 2)),
    asideMm: mean((t) => t.asideMm),
    thickShare: thick,
    uThickShare: Math.sqrt(mean((t) => (t.form.thickShare - thick) ** 2)),
    best: best(),
  };
}

function logSum(values: readonly number[]): number {
  const top = Math.max(...values);
  return top + Math.log(values.reduce((sum, v) => sum + Math.exp(v - top), 0));
}
