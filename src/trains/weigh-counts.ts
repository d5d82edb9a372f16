import { bestFirst } from "./best-first.js";
import type { Condition } from "./condition.js";
import { conditionsOf } from "./conditions-of.js";
import { gearsOf } from "./gearing.js";
import type { Gear, Movement, SeenCount } from "./movement.js";
import type { PhotoEvidence } from "./photo-evidence.js";
import { placeEvidence } from "./photo-evidence.js";
import { meshesOf } from "./gearing.js";
import type { Suspect } from "./suspects.js";
import { findSuspects } from "./suspects.js";
import { withCounts, withMissing } from "./with-counts.js";

/** Counts of photographs and the conditions of the train, weighed together. */
export interface DoubtResult {
  readonly counts: readonly WeighedCount[];
  /** Probability of the whole set, among the sets that the photographs allow. */
  readonly probability: number;
  /** The set meets every condition. */
  readonly consistent: boolean;
  /** Conditions that the set does not meet. */
  readonly unmet: readonly string[];
  /** When photographs and train disagree: what could be at odds, likeliest first. */
  readonly suspects: readonly Suspect[];
  /** One line for a reader, when something is wrong. */
  readonly verdict?: string;
  /** Evidence that fits no place of this movement. */
  readonly unplaced: readonly string[];
  /** Not every set was tried: the search stopped at its limit. */
  readonly searchLimited: boolean;
}

export interface WeighedCount {
  readonly position: string;
  readonly words: string;
  readonly count: number;
  /** Photographs and train together. */
  readonly probability: number;
  readonly photographsSay: readonly SeenCount[];
  /** The count that the file gives, where it is another one. */
  readonly written?: number;
  /** The train overruled the most probable count of the photographs. */
  readonly overruled: boolean;
  /** What spoke against the runner-up, if anything but the photographs did. */
  readonly decidedBy: readonly string[];
  readonly runnerUp?: SeenCount;
}

/** Whether any count of the file carries probabilities of photographs. */
export const hasPhotographs = (movement: Movement): boolean =>
  gearsOf(movement).some(({ seen }) => seen !== undefined && seen.length > 0);

/** The movement with the weighed counts put in, where the file itself gives no other. */
export const withWeighedCounts = (movement: Movement, { counts }: DoubtResult): Movement =>
  withCounts(
    movement,
    new Map(
      counts.filter(({ written }) => written === undefined).map(({ position, count }) => [position, count]),
    ),
  );

const mostSets = 20_000;

/** A share left for counts that the photographs do not name: they may be wrong in a way they do not know. */
const unnamedShare = 1e-4;

/**
 * The most probable set of counts that the photographs allow, given what a sound clock must meet. Sets are tried in
 * falling order of the photographs' own probability until no further one could matter, so the best is the best of all.
 */
export function weighCounts(movement: Movement, evidence: readonly PhotoEvidence[] = []): DoubtResult {
  const { movement: placed, unplaced } = placeEvidence(movement, evidence);
  const gears = gearsOf(placed).filter(({ seen }) => seen !== undefined && seen.length > 0);
  const typed = gearsOf(placed).filter(({ teeth, seen }) => teeth !== "missing" && seen === undefined);
  // Every count becomes an open one, so that the conditions can be asked about any set of them.
  const open = withMissing(placed, new Set([...gears, ...typed].map(({ position }) => position)));
  const lost = new Set(
    gearsOf(placed)
      .filter(({ teeth }) => teeth === "missing")
      .map(({ position }) => position),
  );
  const conditions = conditionsOf(open).filter(
    ({ unknown }) => !unknown.some((position) => lost.has(position)),
  );

  const choices = gears.map(alternativesOf);
  const counts = new Map(typed.map(({ position, teeth }) => [position, teeth as number]));
  const sets: { readonly indices: readonly number[]; readonly weight: number }[] = [];
  const judged = conditions.filter(({ unknown }) => unknown.length > 0);
  let best = 0;
  let tried = 0;
  let searchLimited = false;
  for (const { indices, weight } of bestFirst(
    choices.map((list) => list.map(({ probability }) => probability)),
  )) {
    // A set can only lose by the conditions, so nothing from here on could come near the best.
    if (weight < best * 1e-7) break;
    if (++tried > mostSets) {
      searchLimited = true;
      break;
    }
    setCounts(counts, gears, choices, indices);
    const total = weight * likelihoodOf(judged, counts);
    best = Math.max(best, total);
    sets.push({ indices, weight: total });
  }
  sets.sort((a, b) => b.weight - a.weight);
  const sum = sets.reduce((total, { weight }) => total + weight, 0);
  const winner = sets[0]!;
  setCounts(counts, gears, choices, winner.indices);
  const verdicts = judged.map((condition) => ({ condition, verdict: condition.judge(counts) }));
  const unmet = verdicts.filter(({ verdict }) => !verdict.fits).map(({ condition }) => condition);
  const suspects =
    unmet.length === 0
      ? []
      : findSuspects({
          gears: [...gears, ...typed],
          meshes: meshesOf(open),
          conditions: judged,
          counts: new Map(counts),
        });
  const verdict = unmet.length === 0 ? undefined : verdictText(unmet, suspects);
  return {
    counts: gears.map((gear, place): WeighedCount => {
      const seen = choices[place]!;
      const index = winner.indices[place]!;
      const share = (i: number) =>
        sets.reduce((total, { indices, weight }) => total + (indices[place] === i ? weight : 0), 0) / sum;
      const rival = sets.find(({ indices }) => indices[place] !== index);
      const rivalIndex = rival?.indices[place];
      return {
        position: gear.position,
        words: gear.words,
        count: seen[index]!.count,
        probability: share(index),
        photographsSay: gear.seen!,
        ...(isWritten(gear) && gear.teeth !== seen[index]!.count && { written: gear.teeth }),
        overruled: index !== 0,
        decidedBy:
          rival === undefined ? [] : against(judged, gears, choices, winner.indices, rival.indices, counts),
        ...(rivalIndex !== undefined && {
          runnerUp: { count: seen[rivalIndex]!.count, probability: share(rivalIndex) },
        }),
      };
    }),
    probability: winner.weight / sum,
    consistent: unmet.length === 0,
    unmet: unmet.map(({ words }) => words),
    suspects,
    ...(verdict !== undefined && { verdict }),
    unplaced: unplaced.map(({ position, kind }) => `${position} (${kind})`),
    searchLimited,
  };
}

const isWritten = (gear: Gear): gear is Gear & { readonly teeth: number } =>
  gear.teeth !== "missing" && gear.teethFromPhotographs !== true;

function alternativesOf(gear: Gear): readonly SeenCount[] {
  const list = gear.seen!.filter(({ probability }) => probability > 0);
  // A count that a person wrote down beside the photographs' is an alternative too.
  if (isWritten(gear) && !list.some(({ count }) => count === gear.teeth))
    return [...list, { count: gear.teeth, probability: unnamedShare }].sort(
      (a, b) => b.probability - a.probability,
    );
  return [...list].sort((a, b) => b.probability - a.probability);
}

function setCounts(
  counts: Map<string, number>,
  gears: readonly Gear[],
  choices: readonly (readonly SeenCount[])[],
  indices: readonly number[],
): void {
  gears.forEach(({ position }, place) => counts.set(position, choices[place]![indices[place]!]!.count));
}

/**
 * How well a set of counts goes with a sound clock. One clock in fifty is taken to hold a part that is not its own
 * (common sense, no source): then what the train should do says nothing about the counts, so no condition, however
 * sharp, can overrule photographs that are surer than that. Sizes can each fail for themselves.
 */
function likelihoodOf(conditions: readonly Condition[], counts: ReadonlyMap<string, number>): number {
  let trainChiSquared = 0;
  let sizes = 1;
  for (const condition of conditions) {
    const { chiSquared } = condition.judge(counts);
    if (condition.aboutSizes) sizes *= robust(chiSquared);
    else trainChiSquared += chiSquared;
  }
  return robust(trainChiSquared) * sizes;
}

const foreignPartShare = 0.02;
const robust = (chiSquared: number): number =>
  (1 - foreignPartShare) * Math.exp(-chiSquared / 2) + foreignPartShare;

/** Conditions that the rival set meets clearly worse: a chi squared of 4 more is a factor of 7. */
function against(
  conditions: readonly Condition[],
  gears: readonly Gear[],
  choices: readonly (readonly SeenCount[])[],
  winner: readonly number[],
  rival: readonly number[],
  scratch: ReadonlyMap<string, number>,
): readonly string[] {
  const counts = new Map(scratch);
  setCounts(counts, gears, choices, winner);
  const own = conditions.map((condition) => condition.judge(counts).chiSquared);
  setCounts(counts, gears, choices, rival);
  return conditions
    .map((condition, i) => ({ words: condition.words, worse: condition.judge(counts).chiSquared - own[i]! }))
    .filter(({ worse }) => worse > 4)
    .sort((a, b) => b.worse - a.worse)
    .map(({ words }) => words);
}

function verdictText(unmet: readonly Condition[], suspects: readonly Suspect[]): string {
  const what = `photographs and train disagree: ${unmet.map(({ words }) => `"${words}"`).join(" and ")} ${unmet.length === 1 ? "is" : "are"} not met`;
  const [first, second] = suspects;
  if (first === undefined)
    return `${what}, and no single part explains it: count every part of this train again`;
  if (second === undefined || first.weight > 0.8) return `${what}; ${first.text}`;
  const near = suspects.filter(({ weight }) => weight > first.weight / 5);
  return `${what}; which part is at odds cannot be told: ${near.map(({ text }) => text).join("; or ")}`;
}
