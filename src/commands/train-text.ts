import type {
  ChangeEffect,
  DoubtResult,
  Measured,
  MissingResult,
  MovementResult,
  TrainResult,
} from "../trains/index.js";
import type { LengthText } from "./measured-text.js";
import { k, lengthText, measuredText, numberText, rateText } from "./measured-text.js";
import { columns } from "./text-columns.js";
import { terminalText } from "./terminal-text.js";
import { changeLines, doubtLines, findingLines, missingLines } from "./train-answers-text.js";
import { durationText, trainDiagram } from "./train-diagram.js";

export interface TrainOutcome {
  readonly result: MovementResult;
  readonly missing: readonly MissingResult[];
  readonly doubt?: DoubtResult;
  readonly change?: ChangeEffect;
}

interface TextOptions {
  readonly inches: boolean;
}

/** Coverage factor/** The outcome for people: each train drawn, what it does, what is wrong, what was lost. */
export function trainText({ result, missing, doubt, change }: TrainOutcome, options: TextOptions): string {
  const length = lengthText(options);
  const blocks = [
    ...(result.title === undefined ? [] : [[terminalText(result.title)]]),
    ...result.trains.map((train) => [
      `${capital(terminalText(train.name))} train`,
      ...trainDiagram(train),
      ...[...timeLines(train, length), ...strikeLines(train, length), ...windingLines(train, length)].map(
        (line) => `  ${line}`,
      ),
    ]),
    motionWorkLines(result),
    pairLines(result, length),
    ...missing.map((one) => missingLines(one, length)),
    doubtLines(doubt),
    changeLines(change),
    findingLines("Findings", result.findings),
    gravityLines(result),
    cautionLines(result),
  ];
  return `${blocks
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join("\n"))
    .join("\n\n")}\n`;
}

function timeLines({ time }: TrainResult, length: LengthText): readonly string[] {
  if (time === undefined) return [];
  const { beatsPerHour, beatsPerMinute, secondsPerBeat, pendulum, balance, hourlyArbor, minutelyArbor } =
    time;
  const lines: string[] = [];
  if (beatsPerHour && beatsPerMinute && secondsPerBeat !== undefined)
    lines.push(
      `${numberText(beatsPerHour)} beats an hour, ${numberText(beatsPerMinute)} a minute, one every ${Number(secondsPerBeat.toFixed(4))} s`,
    );
  if (time.escapeTurnS !== undefined)
    lines.push(`the escape wheel turns once in ${durationText(time.escapeTurnS)}`);
  if (hourlyArbor !== undefined) lines.push(`${terminalText(hourlyArbor)} turns once an hour`);
  if (minutelyArbor !== undefined)
    lines.push(`${terminalText(minutelyArbor)} turns once a minute: a seconds hand can sit there`);
  if (balance)
    lines.push(
      `${Number(balance.vibrationsPerSecond.toFixed(3))} vibrations a second (${Number(balance.hertz.toFixed(4))} Hz)`,
    );
  if (pendulum) {
    lines.push(`pendulum ${length(pendulum.lengthMm)}, from suspension to centre of oscillation`);
    if (pendulum.lengthAtArcMm !== undefined)
      lines.push(
        `  ${length(pendulum.lengthAtArcMm)} when it swings ${measuredText(pendulum.semiArcDeg!, 2)}° to each side (circular error ${measuredText(pendulum.circularErrorSecondsPerDay!, 1)} s a day)`,
      );
    if (pendulum.given) {
      const { lengthMm, uncertaintyAssumed, beatsPerHour: own, gainsSecondsPerDay } = pendulum.given;
      const doubt = uncertaintyAssumed ? " (± as for a length taken with a rule)" : "";
      lines.push(
        `  the one given, ${length(lengthMm)}${doubt}, makes ${measuredText(own, 1)} beats an hour: ${rateText(gainsSecondsPerDay)}`,
      );
    }
  }
  return lines;
}

function strikeLines({ strike }: TrainResult, length: LengthText): readonly string[] {
  if (strike === undefined) return [];
  const { unit, blowsPerFirstTurn, blowsPerWinding, blowsPerDay, countWheel, rack, fly, chimeBarrel } =
    strike;
  const lines: string[] = [];
  if (blowsPerFirstTurn)
    lines.push(
      `${numberText(blowsPerFirstTurn)} ${unit}s a turn of the first arbor` +
        (blowsPerWinding ? `, ${measuredText(blowsPerWinding, 0)} in a winding` : "") +
        (blowsPerDay === undefined ? "" : `; ${blowsPerDay} a day`),
    );
  if (countWheel?.blowsPerTurn)
    lines.push(
      `the count wheel goes round once in ${numberText(countWheel.blowsPerTurn)} ${unit}s (wanted: ${numberText(countWheel.blowsWanted)})`,
    );
  if (chimeBarrel) lines.push(`the chime barrel turns ${numberText(chimeBarrel.turnsPerHour)} times an hour`);
  if (rack?.snailStepWantedMm)
    lines.push(
      `the rack asks for snail steps of ${length(rack.snailStepWantedMm, 2)}` +
        (rack.snailStepMm ? `; they are ${length(rack.snailStepMm, 2)}` : ""),
    );
  if (fly?.turnsPerBlow)
    lines.push(
      `the fly turns ${numberText(fly.turnsPerBlow)} times a ${unit}` +
        (fly.turnsPerMinute ? `, about ${measuredText(fly.turnsPerMinute, 0)} a minute` : ""),
    );
  if (strike.longestRunS !== undefined)
    lines.push(`the longest run of ${unit}s takes ${runText(strike.longestRunS)}`);
  return lines;
}

function windingLines({ winding }: TrainResult, length: LengthText): readonly string[] {
  if (winding === undefined) return [];
  const turns = `${measuredText(winding.turns, 1)} turns of the first arbor (${winding.model})`;
  const { hours, days, spring } = winding;
  const spread =
    spring?.filledShare && spring.lengthForMostTurnsMm
      ? [
          `the spring fills ${measuredText(scaledBy(spring.filledShare, 100), 0)} % of the barrel; half of it, ${length(spring.lengthForMostTurnsMm, 0)} of strip, gives most turns`,
        ]
      : [];
  const pace =
    winding.turnsPerDay === undefined
      ? []
      : [
          `the first arbor makes ${numberText(winding.turnsPerDay)} ${winding.turnsPerDay.value === 1 ? "turn" : "turns"} a day`,
        ];
  if (hours === undefined || days === undefined) return [turns, ...pace, ...spread];
  const time = hours.value < 72 ? `${measuredText(hours, 1)} hours` : `${measuredText(days, 2)} days`;
  return [`goes ${time} on ${turns}`, ...pace, ...spread];
}

const scaledBy = ({ value, u }: Measured, factor: number): Measured => ({
  value: value * factor,
  ...(u !== undefined && { u: u * factor }),
});

const runText = (seconds: Measured): string =>
  seconds.u === undefined ? durationText(seconds.value) : `${measuredText(seconds, 1)} s`;

/** What is known of the sizes of pairs: modules, and whether they fit their centres. */
function pairLines({ meshes }: MovementResult, length: LengthText): readonly string[] {
  const known = meshes.filter(
    ({ driverModuleMm, drivenModuleMm, centreDistanceMm }) =>
      driverModuleMm ?? drivenModuleMm ?? centreDistanceMm,
  );
  if (known.length === 0) return [];
  const cell = (mm: Measured | undefined, decimals: number) => (mm === undefined ? "" : length(mm, decimals));
  return [
    "Sizes of pairs",
    ...columns([
      ["driver", "driven", "module", "of the driven", "centres asked for", "centres given"],
      ...known.map((mesh) => [
        terminalText(mesh.driver),
        terminalText(mesh.driven),
        cell(mesh.driverModuleMm, 3),
        cell(mesh.drivenModuleMm, 3),
        cell(mesh.centreDistanceWantedMm, 2),
        cell(mesh.centreDistanceMm, 2),
      ]),
    ]).map((row) => `  ${row}`),
  ];
}

function motionWorkLines({ motionWork }: MovementResult): readonly string[] {
  if (motionWork?.ratio === undefined) return [];
  const { ratio, hourHandHours, moduleRatio } = motionWork;
  return [
    "Motion work",
    `  ratio ${numberText(ratio)}` +
      (hourHandHours ? `; the hour hand goes round in ${numberText(hourHandHours)} hours` : ""),
    ...(moduleRatio && moduleRatio.value !== 1
      ? [
          `  the second pair is cut ${Number(moduleRatio.value.toFixed(4))} times as coarse as the first (${moduleRatio.exact}), as both share their arbors`,
        ]
      : []),
  ];
}

/** Who measures a spring has it in hand; who counts turns of a drum has a weight hanging there. */
function cautionLines({ trains }: MovementResult): readonly string[] {
  const by = new Set(trains.map(({ winding }) => winding?.by));
  const lines = [
    ...(by.has("barrel") || by.has("open spring")
      ? [
          "a wound mainspring cuts and breaks fingers. Let it down fully with a let-down key before the plates are parted, even if the clock seems run down; restrain open springs with clamps; wear eye protection.",
        ]
      : []),
    ...(by.has("weight")
      ? ["take weights off before the clock is moved, and support them before a line is cut."]
      : []),
  ];
  if (lines.length === 0) return [];
  return [
    ...lines.map((line) => `Caution: ${line}`),
    "Follow your local codes, and leave to a licensed professional whatever you are not sure of.",
  ];
}

function gravityLines({ gravity, trains }: MovementResult): readonly string[] {
  if (!trains.some(({ time }) => time?.pendulum !== undefined)) return [];
  const from = {
    standard: "standard gravity; anywhere on earth, so give the latitude for that of the place",
    place: "normal gravity of the place, GRS 80",
    given: "as given",
  }[gravity.from];
  return [
    `Pendulum lengths for g = ${measuredText({ value: gravity.valueMps2, ...(gravity.uMps2 !== undefined && { u: gravity.uMps2 }) }, 5)} m/s² (${from}). ± is the expanded uncertainty (k = ${k}).`,
  ];
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
