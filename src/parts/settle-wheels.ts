import type { RoundPart } from "./find/find-round-parts.js";
import type { CountedWheel } from "./wheel/counted-wheel.js";

/** A wheel as one way of telling metal from its surroundings shows it. */
export interface Candidate {
  readonly part: RoundPart;
  readonly wheel: CountedWheel;
}

/** A count this sure, and not contradicted, ends the search for a better way of telling metal. */
export const contentProbability = 0.95;
/** From here on a count has a voice against another. */
export const soundProbability = 0.9;
/** What counts the same teeth, if less surely, may still be the better one to measure. */
const measurableProbability = 0.5;
/** Most that a count is worth that another way contradicts: as two shadow-proof ways say, or as one says. */
const mostAgainstOne = { proven: 0.97, unproven: 0.9 };

const isSound = ({ wheel }: Candidate): boolean => wheel.count.probability >= soundProbability;

/**
 * Neither colour alone nor the network takes a shadow for metal; darkness does. Round a rim that darkness found, even
 * the network for teeth may count those of a shadow.
 */
const isShadowProof = ({ part: { reason } }: Candidate): boolean =>
  reason === "colour" || reason === "network";

/** Told by a colour in which no shadow has a part. */
export const isByColourAlone = ({ reason, contrast }: RoundPart): boolean =>
  (reason === "colour" || reason === "network") && contrast.growth !== 0;

/** Of one place: has enough been seen to believe the count? */
export function isSettled(place: readonly Candidate[]): boolean {
  const best = settle(place);
  if (best === undefined || best.wheel.count.probability < contentProbability) return false;
  const sound = place.filter(isSound);
  return !sound.some(({ part }) => part.shadowy) || sound.some(isShadowProof);
}

/**
 * The candidate to measure, its probability lowered where sound ways of looking do not agree. A hard shadow has teeth
 * of its own and may be counted as surely as the wheel: where counts differ, what shadows cannot mislead decides.
 */
export function settle(place: readonly Candidate[]): Candidate | undefined {
  const chosen = choose(place);
  return chosen && place.some((c) => isReadSurely(c, chosen.wheel.count.count))
    ? { part: chosen.part, wheel: { ...chosen.wheel, readSurely: true } }
    : chosen;
}

/** Not by lightness: see `isDoubtedWrongly`. */
const isReadSurely = ({ part, wheel: { byNetwork, contrast, count } }: Candidate, teeth: number): boolean =>
  byNetwork === true &&
  !part.shadowy &&
  contrast.growth !== 0 &&
  count.count === teeth &&
  count.probability >= contentProbability;

function choose(place: readonly Candidate[]): Candidate | undefined {
  const sound = place.filter(isSound);
  if (sound.length === 0) return surestTogether(place);
  const counts = [...new Set(sound.map(({ wheel }) => wheel.count.count))];
  const ofCount = (count: number): Candidate[] => sound.filter(({ wheel }) => wheel.count.count === count);
  const proofs = (count: number): number => ofCount(count).filter(isShadowProof).length;
  counts.sort((a, b) => proofs(b) - proofs(a) || ofCount(b).length - ofCount(a).length);
  const agreeing = place.filter((c) => c.wheel.count.count === counts[0] && isMeasurable(c));
  const winner = asSureAsAny(clearest(agreeing), agreeing);
  const others = [...new Set([...counts, ...twiceDoubted(place)])].filter((count) => count !== counts[0]);
  if (others.length === 0) return winner;
  const proven = proofs(counts[0]!) > 1 && others.every((count) => proofs(count) === 0);
  return contradicted(winner, others, proven ? mostAgainstOne.proven : mostAgainstOne.unproven);
}

/**
 * Counts that two shadow-proof ways name, if neither surely: teeth that lightness hardly tells from the sheet were
 * counted one too many, while colour and network said 75 at even three to one.
 */
function twiceDoubted(place: readonly Candidate[]): number[] {
  const named = place
    .filter((c) => isShadowProof(c) && c.wheel.count.probability >= measurableProbability)
    .map(({ wheel }) => wheel.count.count);
  return named.filter((count, i) => named.indexOf(count) < i);
}

const surest = (place: readonly Candidate[]): Candidate | undefined =>
  place.reduce<Candidate | undefined>(
    (best, next) =>
      best === undefined || next.wheel.count.probability > best.wheel.count.probability ? next : best,
    undefined,
  );

/** Where no way is sound alone: the surest, and surer where another says the same and none the opposite. */
function surestTogether(place: readonly Candidate[]): Candidate | undefined {
  const winner = surest(place);
  if (winner === undefined) return undefined;
  const { count } = winner.wheel.count;
  const isAgainst = (c: Candidate): boolean =>
    c.wheel.count.count !== count &&
    c.wheel.count.probability >= (isShadowProof(c) ? measurableProbability : leastSecond);
  const agreeing = place.filter((c) => c.wheel.count.count === count && isMeasurable(c));
  return agreeing.length < 2 || place.some(isAgainst) ? winner : asSureAsAny(clearest(agreeing), agreeing);
}

/** A count by likeness to the face is no better to measure than what it confirms, unless it does confirm it. */
const isMeasurable = ({ wheel: { count, byFace } }: Candidate): boolean =>
  count.probability >= (byFace ? leastSecond : measurableProbability);

/** By colour rather than by light; then the one that stands out most; of equals one that is known to hold no shadow. */
const clearest = (candidates: readonly Candidate[]): Candidate =>
  candidates.reduce((best, next) => (clearness(next) > clearness(best) ? next : best));

const clearness = ({ wheel: { contrast, count } }: Candidate): number =>
  (contrast.growth === 0 ? 0 : 100) +
  (count.probability >= contentProbability ? 50 : 0) +
  (contrast.noShadow ? 0.1 : 0) +
  contrast.separation;

/**
 * Ways that go wrong for different reasons: colour by its coarse grain, lightness by shadows, likeness by a level of
 * light.
 */
const mostTogether = 0.98;
/** Held at two to one or less, a count is no second opinion: two ways may have counted flanks for tips. */
const leastSecond = 0.7;

const ways = ["colour", "lightness", "face", "network"] as const;
type Way = (typeof ways)[number];
const wayOf = (c: Candidate): Way | undefined => {
  // A shadow's teeth mislead the network as they do lightness.
  if (c.wheel.byNetwork) return c.part.shadowy ? "lightness" : "network";
  if (c.wheel.byFace) return "face";
  if (c.wheel.contrast.growth === 0) return "lightness";
  return isShadowProof(c) ? "colour" : undefined;
};

/** The same teeth counted another way: the surest of them is not made less sure by the one that is measured. */
function asSureAsAny(winner: Candidate, agreeing: readonly Candidate[]): Candidate {
  const { part, wheel } = winner;
  const { probability: own } = wheel.count;
  const most = surest(agreeing)!.wheel.count;
  const said = ways
    .map((way) => surest(agreeing.filter((c) => wayOf(c) === way))?.wheel.count.probability ?? 0)
    .filter((p) => p >= leastSecond);
  const together = said.length < 2 ? 0 : Math.min(mostTogether, 1 - said.reduce((q, p) => q * (1 - p), 1));
  const probability = Math.max(most.probability, together);
  if (probability <= own) return winner;
  const { alternatives } = most;
  return { part, wheel: { ...wheel, alone: own, count: { ...wheel.count, probability, alternatives } } };
}

function contradicted({ part, wheel }: Candidate, others: readonly number[], most: number): Candidate {
  const { rim, contrast, count, alone, byNetwork, lean } = wheel;
  const probability = Math.min(count.probability, most);
  const share = (1 - probability) / (others.length + 1);
  return {
    part,
    wheel: {
      rim,
      contrast,
      ...(alone !== undefined && { alone }),
      ...(byNetwork && { byNetwork }),
      ...(lean && { lean }),
      count: {
        ...count,
        probability,
        alternatives: [
          ...others.map((n) => ({ count: n, probability: share })),
          ...count.alternatives
            .filter((a) => !others.includes(a.count))
            .map((a) => ({ ...a, probability: a.probability * share })),
        ],
      },
    },
  };
}
