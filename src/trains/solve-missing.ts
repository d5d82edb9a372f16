import type { Condition } from "./condition.js";
import { beatsProduct, conditionsOf } from "./conditions-of.js";
import { addendumOf, distanceAsMeasured, moduleIfMm } from "./depthing.js";
import type { Mesh } from "./gearing.js";
import { gearsOf, meshesOf, timeGearing } from "./gearing.js";
import { gravityAt, gravityInput } from "./gravity.js";
import { measuredFrom } from "./measured.js";
import type { Gear, Measured, Movement } from "./movement.js";
import { beatsOfPendulum, pendulumAsMeasured, pendulumLengthMm } from "./pendulum.js";
import { gearPlausibility, meshPlausibility } from "./plausibility.js";
import { valueWith } from "./product.js";
import type { RatioJson } from "./ratio.js";
import { ratioJson } from "./ratio.js";

export interface SolveOptions {
  /** Wheel counts tried; default 20 to 160. */
  readonly wheelTeeth?: Range;
  /** Pinion leaves tried; default 6 to 16. */
  readonly leaves?: Range;
  /** Escape wheel teeth tried; default 8 to 60. */
  readonly escapeTeeth?: Range;
  /** Gears of the motion work and count wheel drive tried; default 6 to 100. */
  readonly otherTeeth?: Range;
  /** Answers given of all that were found; default 12. */
  readonly most?: number;
  /** How far the beats may be off before an answer is dropped, as a share; default 0.02. */
  readonly beatsShare?: number;
}

export interface Range {
  readonly from: number;
  readonly to: number;
}

/** What one missing count, or two that hang together, may have been. */
export interface MissingResult {
  readonly missing: readonly { readonly position: string; readonly words: string; readonly line: number }[];
  /** What narrowed them down. */
  readonly usedConditions: readonly string[];
  /** Best first. */
  readonly answers: readonly MissingAnswer[];
  /** All answers found, of which `answers` holds the first. */
  readonly found: number;
  /** Why there is no answer, or what the answers fail to meet. */
  readonly problem?: { readonly text: string; readonly advice: string };
}

export interface MissingAnswer {
  readonly counts: readonly { readonly position: string; readonly count: number }[];
  /** Met to the last tooth: every exact condition, and the stated beats where they hang on these counts. */
  readonly exact: boolean;
  /** Weight among all answers found, 0 to 1: closeness to what was measured times how usual the counts are. */
  readonly weight: number;
  readonly beatsPerHour?: RatioJson;
  /** With the pendulum (or the beats) as they are now: positive, the clock gains. */
  readonly gainsSecondsPerDay?: Measured;
  readonly pendulumLengthMm?: Measured;
  /** What the pendulum would have to be changed by. */
  readonly pendulumChangeMm?: Measured;
  /** For cutting: sizes that follow from the mate or the centre distance. */
  readonly blanks: readonly {
    readonly position: string;
    readonly moduleMm: Measured;
    readonly tipDiameterMm: Measured;
  }[];
  readonly remarks: readonly string[];
}

/**
 * Whole-number answers for the counts marked as missing: all counts in range are tried, exact conditions first.
 * Counts that hang on one another are solved together, two at most; independent ones stand in results of their own.
 */
export function solveMissing(movement: Movement, options: SolveOptions = {}): readonly MissingResult[] {
  const missing = gearsOf(movement).filter(({ teeth }) => teeth === "missing");
  if (missing.length === 0) return [];
  const conditions = conditionsOf(movement).filter(({ unknown }) => unknown.length > 0);
  return groupsOf(missing, conditions).map(({ gears, conditions: own }) =>
    solveGroup(movement, gears, own, options),
  );
}

function solveGroup(
  movement: Movement,
  gears: readonly Gear[],
  conditions: readonly Condition[],
  options: SolveOptions,
): MissingResult {
  const base = {
    missing: gears.map(({ position, words, line }) => ({ position, words, line })),
    usedConditions: conditions.map(({ words }) => words),
  };
  const none = (text: string, advice: string): MissingResult => ({
    ...base,
    answers: [],
    found: 0,
    problem: { text, advice },
  });
  const names = gears.map(({ words }) => words).join(" and ");
  if (conditions.length === 0)
    return none(
      `nothing says what ${names} was`,
      "give the beats per hour, the pendulum's length, the going time, or the sizes (tip diameter, module, centre distance)",
    );
  if (gears.length > 2)
    return none(
      `${gears.length} counts that hang together are missing: ${names}`,
      "at most two can be solved at once; find one of them by its mate or its size first",
    );

  const candidates = candidatesOf(movement, gears, conditions, options);
  const exact = conditions.filter((condition) => condition.exact);
  const meeting = candidates.filter(({ exactMet }) => exactMet === exact.length);
  const kept = meeting.length > 0 ? meeting : nearestMisses(candidates);
  if (kept.length === 0)
    return none(
      `no count in range for ${names} meets what is known (${base.usedConditions.join("; ")})`,
      "check the other counts and the figures given",
    );
  const top = Math.max(...kept.map(({ logWeight }) => logWeight));
  const total = kept.reduce((sum, { logWeight }) => sum + Math.exp(logWeight - top), 0);
  kept.sort((a, b) => b.logWeight - a.logWeight || a.counts[0]! - b.counts[0]!);
  const finish = answerFinisher(movement, gears);
  return {
    ...base,
    answers: kept
      .slice(0, options.most ?? 12)
      .map((candidate) => finish(candidate, Math.exp(candidate.logWeight - top) / total, meeting.length > 0)),
    found: kept.length,
    ...(meeting.length === 0 && {
      problem: {
        text: `no whole number meets everything: ${exact.map(({ words }) => words).join("; ")}`,
        advice: "these come nearest; check the other counts of this train",
      },
    }),
  };
}

interface Candidate {
  readonly counts: readonly number[];
  readonly exactMet: number;
  /** Sum of shares by which exact conditions are missed. */
  readonly missedBy: number;
  readonly logWeight: number;
}

function candidatesOf(
  movement: Movement,
  gears: readonly Gear[],
  conditions: readonly Condition[],
  options: SolveOptions,
): Candidate[] {
  const beatsShare = options.beatsShare ?? 0.02;
  const ranges = gears.map((gear) => rangeFor(gear, options));
  const usual = gears.map((gear) => plausibilityTable(gear, rangeFor(gear, options)));
  const meshes = meshesOf(movement).filter(
    ({ driver, driven }) => gears.includes(driver) || gears.includes(driven),
  );
  const candidates: Candidate[] = [];
  const counts = new Map<string, number>();
  const second = ranges[1] ?? { from: 0, to: 0 };
  for (let a = ranges[0]!.from; a <= ranges[0]!.to; a++) {
    counts.set(gears[0]!.position, a);
    for (let b = second.from; b <= second.to; b++) {
      if (gears[1] !== undefined) counts.set(gears[1].position, b);
      let exactMet = 0;
      let missedBy = 0;
      let logWeight = 0;
      let possible = true;
      for (const condition of conditions) {
        const { fits, chiSquared, deviation } = condition.judge(counts);
        if (condition.exact) {
          if (fits) exactMet++;
          else missedBy += Math.abs(deviation ?? 1);
        } else if (condition.id === "beats") {
          // Beats that are off by little are answers all the same: the pendulum can be altered.
          if (!fits && Math.abs(deviation!) > beatsShare) possible = false;
        } else if (!fits && chiSquared > 36) possible = false;
        if (!possible) break;
        if (!condition.exact) logWeight -= chiSquared / 2;
      }
      if (!possible) continue;
      logWeight += usual[0]!.get(a)! + (usual[1]?.get(b) ?? 0);
      for (const mesh of meshes)
        logWeight += meshPlausibility(
          mesh,
          countOf(mesh.driver, counts),
          countOf(mesh.driven, counts),
        ).logWeight;
      candidates.push({ counts: gears.length === 1 ? [a] : [a, b], exactMet, missedBy, logWeight });
    }
  }
  return candidates;
}

const nearMiss = 0.05;

/** When nothing meets every exact condition: those that meet most of them and miss the others by least. */
function nearestMisses(candidates: readonly Candidate[]): Candidate[] {
  const near = candidates.filter(({ missedBy }) => missedBy <= nearMiss);
  const most = near.reduce((best, { exactMet }) => Math.max(best, exactMet), 0);
  return near
    .filter(({ exactMet }) => exactMet === most)
    .map((candidate) => ({
      ...candidate,
      logWeight: candidate.logWeight - candidate.missedBy / (nearMiss / 20),
    }));
}

const countOf = (gear: Gear, counts: ReadonlyMap<string, number>): number =>
  gear.teeth === "missing" ? (counts.get(gear.position) ?? NaN) : gear.teeth;

function rangeFor(gear: Gear, options: SolveOptions): Range {
  if (gear.position.endsWith(".escape wheel")) return options.escapeTeeth ?? { from: 8, to: 60 };
  if (gear.position.startsWith("motion work") || gear.position.endsWith(".driver"))
    return options.otherTeeth ?? { from: 6, to: 100 };
  return gear.kind === "wheel"
    ? (options.wheelTeeth ?? { from: 20, to: 160 })
    : (options.leaves ?? { from: 6, to: 16 });
}

function plausibilityTable(gear: Gear, { from, to }: Range): ReadonlyMap<number, number> {
  const table = new Map<number, number>();
  for (let count = from; count <= to; count++) table.set(count, gearPlausibility(gear, count).logWeight);
  return table;
}

/** Makes a candidate readable: beats, pendulum, sizes, remarks. */
function answerFinisher(movement: Movement, gears: readonly Gear[]) {
  const timeTrain = movement.trains.find(({ duty }) => duty === "time");
  const beats = beatsProduct(timeTrain && timeGearing(movement, timeTrain));
  const gravity = gravityInput(gravityAt(movement.place));
  const regulator = movement.regulator?.kind === "pendulum" ? movement.regulator : undefined;
  const balance = movement.regulator?.kind === "balance";
  const arc = regulator?.semiArcRad ?? { value: 0 };
  const given = regulator?.lengthMm && pendulumAsMeasured(regulator.lengthMm);
  const meshes = meshesOf(movement);
  const hangsOnBeats = beats !== undefined && gears.some(({ position }) => beats.unknown.has(position));
  const stated = movement.statedBeatsPerHour?.value;

  /** The clock as it goes now, by the stated beats, else by its pendulum. */
  const gainOf = (beats: number): Pick<MissingAnswer, "gainsSecondsPerDay"> => {
    const gain = (present: number) => 86400 * (present / beats - 1);
    if (stated !== undefined) return { gainsSecondsPerDay: { value: gain(stated) } };
    if (given === undefined) return {};
    return {
      gainsSecondsPerDay: measuredFrom([given, gravity, arc], ([length, g, semiArc]) =>
        gain(beatsOfPendulum(length!, g!, semiArc)),
      ),
    };
  };

  /** From the pendulum that is there, else from that of the stated beats. */
  const changeOf = (beats: number): Pick<MissingAnswer, "pendulumChangeMm"> => {
    if (given)
      return {
        pendulumChangeMm: measuredFrom(
          [given, gravity, arc],
          ([length, g, semiArc]) => pendulumLengthMm(beats, g!, semiArc) - length!,
        ),
      };
    if (stated === undefined) return {};
    return {
      pendulumChangeMm: measuredFrom(
        [gravity, arc],
        ([g, semiArc]) => pendulumLengthMm(beats, g!, semiArc) - pendulumLengthMm(stated, g!, semiArc),
      ),
    };
  };

  return (candidate: Candidate, weight: number, exactMet: boolean): MissingAnswer => {
    const counts = new Map(gears.map(({ position }, i) => [position, candidate.counts[i]!]));
    const beatsValue = hangsOnBeats ? valueWith(beats, counts) : undefined;
    const beatsExact =
      stated === undefined ? !hangsOnBeats : beatsValue === undefined || beatsValue.toNumber() === stated;
    const atBeats = beatsValue?.toNumber();
    return {
      counts: gears.map(({ position }, i) => ({ position, count: candidate.counts[i]! })),
      exact: exactMet && beatsExact,
      weight,
      ...(beatsValue && { beatsPerHour: ratioJson(beatsValue) }),
      ...(atBeats !== undefined && gainOf(atBeats)),
      ...(atBeats !== undefined &&
        !balance && {
          pendulumLengthMm: measuredFrom([gravity, arc], ([g, semiArc]) =>
            pendulumLengthMm(atBeats, g!, semiArc),
          ),
        }),
      ...(atBeats !== undefined && !balance && changeOf(atBeats)),
      blanks: gears.flatMap((gear) => blankOf(gear, meshes, counts)),
      remarks: remarksOf(gears, meshes, counts),
    };
  };
}

/** Module from its own size, else from the mate or the centre distance; the blank is cut to the tip diameter. */
function blankOf(
  gear: Gear,
  meshes: readonly Mesh[],
  counts: ReadonlyMap<string, number>,
): MissingAnswer["blanks"] {
  const count = countOf(gear, counts);
  if (gear.tipDiameterMm !== undefined)
    return [
      { position: gear.position, moduleMm: moduleIfMm(gear, count)!, tipDiameterMm: gear.tipDiameterMm },
    ];
  for (const mesh of meshes) {
    if (mesh.driver.position !== gear.position && mesh.driven.position !== gear.position) continue;
    const mate = mesh.driver.position === gear.position ? mesh.driven : mesh.driver;
    const mateCount = countOf(mate, counts);
    const moduleMm =
      moduleIfMm(mate, mateCount) ??
      (mesh.centreDistanceMm &&
        measuredFrom([distanceAsMeasured(mesh.centreDistanceMm)], ([a]) => (2 * a!) / (count + mateCount)));
    if (moduleMm === undefined) continue;
    const tip = measuredFrom(
      [moduleMm, addendumOf(gear, count)],
      ([m, addendum]) => m! * (count + 2 * addendum!),
    );
    return [{ position: gear.position, moduleMm, tipDiameterMm: tip }];
  }
  return [];
}

function remarksOf(
  gears: readonly Gear[],
  meshes: readonly Mesh[],
  counts: ReadonlyMap<string, number>,
): readonly string[] {
  const own = gears.flatMap((gear) => gearPlausibility(gear, countOf(gear, counts)).remarks);
  const paired = meshes
    .filter(({ driver, driven }) =>
      gears.some(({ position }) => position === driver.position || position === driven.position),
    )
    .flatMap(
      (mesh) => meshPlausibility(mesh, countOf(mesh.driver, counts), countOf(mesh.driven, counts)).remarks,
    );
  return [...own, ...paired];
}

/** Missing counts that share a condition belong together. */
function groupsOf(gears: readonly Gear[], conditions: readonly Condition[]) {
  const groupOf = new Map(gears.map(({ position }) => [position, position]));
  const root = (position: string): string => {
    let at = position;
    while (groupOf.get(at) !== at) at = groupOf.get(at)!;
    return at;
  };
  for (const { unknown } of conditions)
    for (const position of unknown.slice(1)) groupOf.set(root(position), root(unknown[0]!));
  const roots = [...new Set(gears.map(({ position }) => root(position)))];
  return roots.map((name) => ({
    gears: gears.filter(({ position }) => root(position) === name),
    conditions: conditions.filter(({ unknown }) => root(unknown[0]!) === name),
  }));
}
