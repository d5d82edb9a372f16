import type { PhotoRecord } from "../../record/index.js";
import type { Arbor, DoubtResult, Gear, TrainResult } from "../../trains/index.js";
import type { ArborState, GearState, MovementState, TrainState } from "../wire.js";

/** What the movement file and the photographs say, for the page. */
export async function movementState(
  text: string | undefined,
  revision: string,
  photos: readonly PhotoRecord[],
): Promise<MovementState> {
  const nothing = {
    revision,
    exists: text !== undefined,
    text: text ?? "",
    mistakes: [],
    trains: [],
    missing: [],
  };
  if (text === undefined) return nothing;
  const room = await import("../../trains/index.js");
  const reading = room.readMovement(text);
  if (!reading.ok) return { ...nothing, mistakes: reading.mistakes.slice(0, 20) };
  const written = reading.value;
  const evidence = room.evidenceFromSurvey(photos.flatMap(({ parts }) => parts));
  const placed = room.placeEvidence(written, evidence).movement;
  const doubt = room.hasPhotographs(placed) ? room.weighCounts(written, evidence) : undefined;
  const movement = doubt ? room.withWeighedCounts(placed, doubt) : placed;
  const result = room.evaluateMovement(movement);
  const missing = room.solveMissing(movement, { most: 6 });
  return {
    ...nothing,
    trains: written.trains.map((train, i): TrainState => {
      const placedTrain = placed.trains[i]!;
      const own = result.trains.find(({ name }) => name === train.name);
      return {
        name: train.name,
        duty: train.duty,
        arbors: train.arbors.map((arbor, k) => arborState(arbor, placedTrain.arbors[k]!, own, doubt)),
        ...(train.power?.kind === "turns" ? { powerTurns: train.power.turns } : {}),
        ...(train.power ? { power: train.power.kind } : {}),
        ...headline(own),
      };
    }),
    result,
    ...(doubt?.verdict === undefined ? {} : { verdict: doubt.verdict }),
    missing: missing.map((group) => ({
      gears: group.missing.map(({ position, words }) => ({ position, words })),
      used: group.usedConditions,
      found: group.found,
      ...(group.problem && { problem: group.problem }),
      answers: group.answers.slice(0, 6).map((answer) => ({
        counts: answer.counts,
        exact: answer.exact,
        weight: answer.weight,
        ...(answer.beatsPerHour && { beatsPerHour: answer.beatsPerHour.value }),
        ...(answer.gainsSecondsPerDay !== undefined && {
          gainsSecondsPerDay: answer.gainsSecondsPerDay.value,
        }),
        remarks: answer.remarks,
      })),
    })),
  };
}

/** The figures of a train that a repairer looks for first. */
function headline(train: TrainResult | undefined): Pick<TrainState, "figures"> {
  const digits = (value: number, n: number): string => String(Number(value.toFixed(n)));
  const figures: [string, string][] = [];
  const { time, strike, winding } = train ?? {};
  if (time?.beatsPerHour) figures.push(["beats per hour", digits(time.beatsPerHour.value, 2)]);
  if (time?.pendulum) figures.push(["pendulum, mm", digits(time.pendulum.lengthMm.value, 1)]);
  if (strike?.blowsPerDay !== undefined)
    figures.push([`${strike.unit}s per day`, digits(strike.blowsPerDay, 1)]);
  if (winding?.days) figures.push(["goes, days", digits(winding.days.value, 2)]);
  return { figures: figures.map(([name, value]) => ({ name, value })) };
}

function arborState(
  written: Arbor,
  placed: Arbor,
  train: TrainResult | undefined,
  doubt: DoubtResult | undefined,
): ArborState {
  const gears = gearsOf(written, placed, doubt);
  const result = train?.arbors.find(({ name }) => name === written.name);
  const also = (result?.parts ?? []).flatMap(({ part, count }) =>
    part === "wheel" || part === "pinion" || part === "escape wheel" || part === "driver"
      ? []
      : [count === undefined ? part : `${part}: ${count}`],
  );
  return {
    name: written.name,
    ...(written.tag === undefined ? {} : { tag: written.tag }),
    ...(written.drivenBy === undefined ? {} : { drivenBy: written.drivenBy }),
    ...(written.hand === undefined ? {} : { hand: written.hand }),
    ...(result?.secondsPerTurn === undefined ? {} : { turns: turnWords(result.secondsPerTurn) }),
    gears,
    also,
  };
}

function turnWords(seconds: number): string {
  const digits = (value: number): string => String(Number(value.toPrecision(4)));
  if (seconds < 60) return `once in ${digits(seconds)} s`;
  if (seconds < 3600) return `once in ${digits(seconds / 60)} min`;
  return `once in ${digits(seconds / 3600)} h`;
}

function gearsOf(written: Arbor, placed: Arbor, doubt: DoubtResult | undefined): GearState[] {
  const own = written.driver?.position.endsWith(".driver") === true ? written.driver : undefined;
  const placedOwn = own ? placed.driver : undefined;
  const all: [GearState["part"], Gear | undefined, Gear | undefined][] = [
    ["driver", own, placedOwn],
    ["pinion", written.pinion, placed.pinion],
    ["wheel", written.wheel, placed.wheel],
    ["escape wheel", written.escape?.gear, placed.escape?.gear],
  ];
  return all.flatMap(([part, gear, seenGear]) =>
    gear && seenGear ? [gearState(part, gear, seenGear, doubt)] : [],
  );
}

function gearState(
  part: GearState["part"],
  written: Gear,
  placed: Gear,
  doubt: DoubtResult | undefined,
): GearState {
  const weighed = doubt?.counts.find(({ position }) => position === written.position);
  const best = placed.seen?.[0];
  const says = written.teeth === "missing" || written.teethFromPhotographs ? undefined : written.teeth;
  return {
    position: written.position,
    part,
    words: written.words,
    ...(says === undefined ? {} : { written: says }),
    ...(says === undefined && placed.teeth !== "missing"
      ? { fromPhotographs: weighed?.count ?? placed.teeth }
      : {}),
    seen: (placed.seen ?? []).slice(0, 4),
    ...(weighed?.overruled ? { weighed: { count: weighed.count, probability: weighed.probability } } : {}),
    conflict: says !== undefined && best !== undefined && best.count !== says && best.probability >= 0.5,
    missing: placed.teeth === "missing",
  };
}

/**
 * A movement file to begin with: a train for each letter of the labels, every count "?", so that it is taken from
 * the photographs as long as nobody writes another one. Never less than a time train with an escape wheel.
 */
export function newMovementText(photos: readonly PhotoRecord[]): string {
  const parts = photos.flatMap((photo) => photo.parts);
  const highest = (letter: string): number =>
    Math.max(
      0,
      ...parts.map(({ label }) => Number(new RegExp(`^${letter}([1-9])$`).exec(label ?? "")?.[1] ?? 0)),
    );
  const names = ["great", "centre", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth"];
  const seen = (label: string, kind: string): boolean =>
    parts.some((part) => part.label === label && part.kind === kind);
  const lines = [
    '# Made by the page. "?" is a count that the photographs give, or that is lost.',
    "trains:",
    "  time:",
    "    arbors:",
  ];
  const time = Math.max(4, highest("T"));
  for (let n = 1; n <= time; n++) {
    const escape = n === time || seen(`T${n}`, "escape-wheel");
    const name = escape && n === time ? "escape" : names[n - 1]!;
    const gears = [...(n === 1 ? [] : ["pinion: ?"]), `${n === time ? "escape wheel" : "wheel"}: ?`];
    lines.push(`      ${name}: { ${gears.join(", ")}${n === 2 ? ", hand: minute" : ""}, tag: T${n} }`);
  }
  for (const [letter, train] of [
    ["S", "strike"],
    ["C", "chime"],
  ] as const) {
    const last = highest(letter);
    if (last === 0) continue;
    lines.push(`  ${train}:`, "    arbors:");
    for (let n = 1; n <= last; n++)
      lines.push(`      ${names[n - 1]}: { ${n === 1 ? "" : "pinion: ?, "}wheel: ?, tag: ${letter}${n} }`);
  }
  return `${lines.join("\n")}\n`;
}
