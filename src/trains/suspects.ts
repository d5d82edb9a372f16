import type { Condition } from "./condition.js";
import type { Mesh } from "./gearing.js";
import type { Gear } from "./movement.js";
import { gearPlausibility, meshPlausibility } from "./plausibility.js";

/** A part that, were it another one, would bring photographs and train together. */
export interface Suspect {
  /** A gear's position, or the id of a measured condition ("beats") that may itself be wrong. */
  readonly position: string;
  readonly words: string;
  readonly count?: number;
  /** Counts with which everything else agrees, likeliest first. */
  readonly shouldBe: readonly number[];
  /** Weight among the suspects, 0 to 1. */
  readonly weight: number;
  readonly text: string;
}

interface Case {
  readonly gears: readonly Gear[];
  readonly meshes: readonly Mesh[];
  readonly conditions: readonly Condition[];
  readonly counts: ReadonlyMap<string, number>;
}

/**
 * One part at odds with the rest: each gear in turn is freed over all counts, the others held. A gear is a suspect if
 * some count then meets all that the train must do. What its own sizes say is left out while it is freed (a
 * replacement need not mate), so a gear that does not mate its neighbours comes out ahead of one that does.
 */
export function findSuspects(scene: Case): readonly Suspect[] {
  const { gears, conditions, counts } = scene;
  const unmet = conditions.filter((condition) => !condition.judge(counts).fits);
  const raw = gears.flatMap((gear) => suspicionOf(gear, unmet, scene));
  const [only] = unmet;
  if (unmet.length === 1 && only!.id === "beats")
    raw.push({
      position: "beats",
      words: only!.words,
      shouldBe: [],
      logWeight: -chiSquaredWithout(only!, conditions, counts) / 2 + Math.log(doubtOfSureThings),
      text: `the ${only!.words} do not belong to this train: the pendulum or the stated beats may be wrong`,
    });
  const top = Math.max(...raw.map(({ logWeight }) => logWeight));
  const total = raw.reduce((sum, { logWeight }) => sum + Math.exp(logWeight - top), 0);
  return raw
    .map(({ logWeight, ...suspect }) => ({ ...suspect, weight: Math.exp(logWeight - top) / total }))
    .sort((a, b) => b.weight - a.weight);
}

type Suspicion = Omit<Suspect, "weight"> & { readonly logWeight: number };

/** Even a sure count or a stated figure is wrong, or of a foreign part, once in fifty clocks (no source). */
const doubtOfSureThings = 0.02;

/** This gear at odds with the rest, if another count of it would mend what the train should do. */
function suspicionOf(
  gear: Gear,
  unmet: readonly Condition[],
  { meshes, conditions, counts }: Case,
): Suspicion[] {
  const concerns = ({ unknown }: Condition) => unknown.includes(gear.position);
  if (!unmet.some(concerns) || unmet.some((condition) => !concerns(condition) && !condition.aboutSizes))
    return [];
  const ownSizes = conditions.filter((condition) => condition.aboutSizes && concerns(condition));
  const others = conditions.filter((condition) => !ownSizes.includes(condition));
  const ownMeshes = meshes.filter(({ driver, driven }) =>
    [driver.position, driven.position].includes(gear.position),
  );
  const own = counts.get(gear.position)!;
  const onlySizes = unmet.every(({ aboutSizes }) => aboutSizes);
  const trial = new Map(counts);
  const fitting: { readonly count: number; readonly logWeight: number }[] = [];
  const { from, to } = gear.kind === "wheel" ? { from: 8, to: 160 } : { from: 5, to: 60 };
  for (let count = from; count <= to; count++) {
    // Its own count is right only when nothing but its size is at odds.
    if (count === own && !onlySizes) continue;
    trial.set(gear.position, count);
    const verdicts = others.map((condition) => ({ condition, ...condition.judge(trial) }));
    if (verdicts.some(({ condition, fits }) => !fits && !condition.aboutSizes)) continue;
    const usual = ownMeshes.reduce(
      (sum, mesh) =>
        sum +
        meshPlausibility(mesh, trial.get(mesh.driver.position)!, trial.get(mesh.driven.position)!).logWeight,
      gearPlausibility(gear, count).logWeight,
    );
    fitting.push({
      count,
      logWeight: usual - verdicts.reduce((sum, { chiSquared }) => sum + chiSquared, 0) / 2,
    });
  }
  if (fitting.length === 0) return [];
  fitting.sort((a, b) => b.logWeight - a.logWeight);
  const shouldBe = fitting.slice(0, 3).map(({ count }) => count);
  const misfits = ownSizes.some((condition) => !condition.judge(counts).fits);
  trial.set(gear.position, shouldBe[0]!);
  const fitsAsOther = ownSizes.length > 0 && ownSizes.every((condition) => condition.judge(trial).fits);
  return [
    {
      position: gear.position,
      words: gear.words,
      count: own,
      shouldBe,
      // Freed sizes cost what one right condition would on average, so freeing is no advantage in itself.
      logWeight:
        fitting[0]!.logWeight -
        ownSizes.length / 2 +
        Math.log(1 - certaintyOf(gear, own) + doubtOfSureThings),
      text: suspectText(gear, own, shouldBe, misfits, fitsAsOther),
    },
  ];
}

/** How sure the photographs are; a count that was typed in is taken as sure. */
function certaintyOf(gear: Gear, count: number): number {
  return gear.seen === undefined ? 0.999 : (gear.seen.find((seen) => seen.count === count)?.probability ?? 0);
}

const chiSquaredWithout = (
  left: Condition,
  conditions: readonly Condition[],
  counts: ReadonlyMap<string, number>,
): number =>
  conditions.reduce(
    (sum, condition) => sum + (condition === left ? 0 : condition.judge(counts).chiSquared),
    0,
  );

function suspectText(
  gear: Gear,
  count: number,
  shouldBe: readonly number[],
  misfits: boolean,
  fitsAsOther: boolean,
): string {
  const wanted = shouldBe.join(" or ");
  if (shouldBe[0] === count)
    return `${gear.words} has the right count but does not fit its mate: it may be a replacement`;
  const unit = gear.kind === "wheel" ? "teeth" : "leaves";
  if (fitsAsOther)
    return `${gear.words} was counted as ${count}, but its size and the train ask for ${wanted} ${unit}: count it again`;
  if (misfits)
    return `${gear.words} has ${count} ${unit} and does not fit its mate; the train asks for ${wanted}: it looks like a replacement`;
  return `${gear.words} has ${count} ${unit}, the train asks for ${wanted}: it may be a replacement`;
}
