import { roundToUncertainty } from "../quantity/index.js";
import type {
  ChangeEffect,
  DoubtResult,
  Measured,
  MissingAnswer,
  MissingResult,
  MovementResult,
  TrainFinding,
  TrainResult,
} from "../trains/index.js";
import { terminalText } from "./terminal-text.js";
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

/** Coverage factor of every ± in the text. */
const k = 2;

/** The outcome for people: each train drawn, what it does, what is wrong, what was lost. */
export function trainText({ result, missing, doubt, change }: TrainOutcome, options: TextOptions): string {
  const length = lengthText(options);
  const blocks = [
    ...(result.title === undefined ? [] : [[terminalText(result.title)]]),
    ...result.trains.map((train) => [
      `${capital(terminalText(train.name))} train`,
      ...trainDiagram(train),
      ...[...timeLines(train, length), ...strikeLines(train, length), ...windingLines(train)].map(
        (line) => `  ${line}`,
      ),
    ]),
    motionWorkLines(result),
    ...missing.map((one) => missingLines(one, length)),
    doubtLines(doubt),
    changeLines(change),
    findingLines("Findings", result.findings),
    gravityLines(result),
  ];
  return `${blocks
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join("\n"))
    .join("\n\n")}\n`;
}

type LengthText = (mm: Measured | number, decimals?: number) => string;

const lengthText =
  ({ inches }: TextOptions): LengthText =>
  (given, decimals = 1) => {
    const [factor, unit, places] = inches ? [1 / 25.4, "in", decimals + 2] : [1, "mm", decimals];
    const { value, u } = typeof given === "number" ? { value: given, u: undefined } : given;
    return `${measuredText({ value: value * factor, ...(u !== undefined && { u: u * factor }) }, places)} ${unit}`;
  };

function measuredText({ value, u }: Measured, decimals: number): string {
  if (u === undefined || u === 0) return String(Number(value.toFixed(decimals)));
  const rounded = roundToUncertainty(value, k * u);
  return `${rounded.value} ± ${rounded.u}`;
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
        `  ${length(pendulum.lengthAtArcMm)} when it swings ${Number(pendulum.semiArcDeg!.toFixed(2))}° to each side (circular error ${pendulum.circularErrorSecondsPerDay!.toFixed(1)} s a day)`,
      );
    if (pendulum.given)
      lines.push(
        `  the one given, ${length(pendulum.given.lengthMm)}, makes ${pendulum.given.beatsPerHour.toFixed(1)} beats an hour: ${rateText(pendulum.given.gainsSecondsPerDay)}`,
      );
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
    lines.push(`the longest run of ${unit}s takes ${durationText(strike.longestRunS)}`);
  return lines;
}

function windingLines({ winding }: TrainResult): readonly string[] {
  if (winding === undefined) return [];
  const turns = `${measuredText(winding.turns, 1)} turns of the first arbor (${winding.model})`;
  const { hours, days } = winding;
  if (hours === undefined || days === undefined) return [turns];
  const time = hours.value < 72 ? `${measuredText(hours, 1)} hours` : `${measuredText(days, 2)} days`;
  return [`goes ${time} on ${turns}`];
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

function missingLines(
  { missing, usedConditions, answers, found, problem }: MissingResult,
  length: LengthText,
): readonly string[] {
  const lines = [`Missing: ${missing.map(({ words }) => terminalText(words)).join(" and ")}`];
  if (usedConditions.length > 0)
    lines.push(...usedConditions.map((words, i) => `  ${i === 0 ? "from " : "     "}${terminalText(words)}`));
  if (problem) lines.push(`  ${terminalText(problem.text)}`, `    → ${terminalText(problem.advice)}`);
  if (answers.length === 0) return lines;
  const rows = answers.map((answer) => answerCells(answer, length));
  const heads = [
    "",
    ...missing.map(({ position }) => terminalText(position)),
    "beats/h",
    "pendulum",
    "change",
    "rate",
    "weight",
    "blank",
    "",
  ];
  lines.push(...columns([heads, ...rows]).map((row) => `  ${row}`));
  if (found > answers.length)
    lines.push(`  the best ${answers.length} of ${found} answers (--answers ${found} shows all)`);
  return lines;
}

function answerCells(answer: MissingAnswer, length: LengthText): readonly string[] {
  const {
    counts,
    exact,
    weight,
    beatsPerHour,
    pendulumLengthMm,
    pendulumChangeMm,
    gainsSecondsPerDay,
    blanks,
    remarks,
  } = answer;
  const signed = (mm: number) => `${mm > 0.05 ? "+" : ""}${length(Math.abs(mm) < 0.05 ? 0 : mm)}`;
  return [
    exact ? "exact" : "",
    ...counts.map(({ count }) => String(count)),
    beatsPerHour ? numberText(beatsPerHour, 1) : "",
    pendulumLengthMm === undefined ? "" : length(pendulumLengthMm),
    pendulumChangeMm === undefined ? "" : signed(pendulumChangeMm),
    gainsSecondsPerDay === undefined ? "" : rateText(gainsSecondsPerDay),
    weight >= 0.0005 ? `${(100 * weight).toFixed(1)} %` : "under 0.1 %",
    blanks.map(({ tipDiameterMm }) => `Ø ${length(tipDiameterMm, 2)}`).join(", "),
    remarks.join("; "),
  ];
}

/** Left-aligned columns; those that are empty under their head are left out. */
function columns(rows: readonly (readonly string[])[]): readonly string[] {
  const widths = rows[0]!.map((_, i) =>
    rows.slice(1).every((row) => row[i] === "") ? 0 : Math.max(...rows.map((row) => row[i]!.length)),
  );
  return rows.map((row) =>
    row
      .flatMap((cell, i) => (widths[i] === 0 ? [] : [cell.padEnd(widths[i]!)]))
      .join("  ")
      .trimEnd(),
  );
}

function doubtLines(doubt: DoubtResult | undefined): readonly string[] {
  if (doubt === undefined) return [];
  const lines = ["Photographs and train together"];
  for (const {
    words,
    count,
    probability,
    overruled,
    decidedBy,
    runnerUp,
    photographsSay,
    written,
  } of doubt.counts) {
    const sure =
      probability >= 0.9995
        ? ""
        : ` (${(100 * probability).toFixed(1)} %${runnerUp ? `, else ${runnerUp.count}` : ""})`;
    const said = overruled ? `; the photographs alone: ${photographsSay[0]!.count}` : "";
    const differs = written === undefined ? "" : `; the file says ${written}`;
    lines.push(`  ${terminalText(words)}: ${count}${sure}${said}${differs}`);
    if (decidedBy.length > 0 && (overruled || probability < 0.9995 || photographsSay[0]!.probability < 0.95))
      lines.push(`    decided by: ${decidedBy.map((text) => terminalText(text)).join("; ")}`);
  }
  if (doubt.verdict !== undefined) lines.push(`  ${capital(terminalText(doubt.verdict))}`);
  for (const { text, weight } of doubt.suspects)
    lines.push(`    ${(100 * weight).toFixed(0)} %  ${terminalText(text)}`);
  if (doubt.unplaced.length > 0)
    lines.push(`  Not in this movement: ${doubt.unplaced.map((text) => terminalText(text)).join(", ")}`);
  if (doubt.searchLimited) lines.push("  So much is open that not every set of counts could be tried.");
  return lines;
}

function changeLines(change: ChangeEffect | undefined): readonly string[] {
  if (change === undefined) return [];
  const factor = (name: string, value: number | undefined) =>
    value === undefined || value === 1
      ? []
      : [`${name} x ${Number(value.toFixed(5))} (${percentText(value)})`];
  const lines = change.trains.flatMap(({ name, beatsFactor, blowsFactor, goingTimeFactor }) => {
    const parts = [
      ...factor("beats", beatsFactor),
      ...factor("blows a turn", blowsFactor),
      ...factor("going time", goingTimeFactor),
    ];
    return parts.length === 0 ? [] : [`  ${terminalText(name)}: ${parts.join(", ")}`];
  });
  return [
    "With the change",
    ...(lines.length > 0 ? lines : ["  nothing about beats, blows or going time"]),
    ...findingLines("  New findings", change.newFindings).map((line) => line),
    ...findingLines("  No longer found", change.goneFindings).map((line) => line),
  ];
}

function findingLines(title: string, findings: readonly TrainFinding[]): readonly string[] {
  if (findings.length === 0) return [];
  return [
    title,
    ...findings.flatMap(({ severity, text, advice, line }) => [
      `  ${severity.padEnd(5)}  ${line === undefined ? "" : `line ${line}: `}${terminalText(text)}`,
      ...(advice === undefined ? [] : [`         → ${terminalText(advice)}`]),
    ]),
  ];
}

function gravityLines({ gravity, trains }: MovementResult): readonly string[] {
  if (!trains.some(({ time }) => time?.pendulum !== undefined)) return [];
  const from = {
    standard: "standard gravity; give the latitude for that of the place",
    place: "normal gravity of the place, GRS 80",
    given: "as given",
  }[gravity.from];
  return [
    `Pendulum lengths for g = ${gravity.valueMps2.toFixed(5)} m/s² (${from}). ± is the expanded uncertainty (k = ${k}).`,
  ];
}

function rateText(secondsPerDay: number): string {
  const size = Math.abs(secondsPerDay);
  if (size < 0.05) return "keeps time";
  const words =
    size < 100
      ? `${size.toFixed(1)} s`
      : size < 6000
        ? `${(size / 60).toFixed(1)} min`
        : `${(size / 3600).toFixed(1)} h`;
  return `${secondsPerDay > 0 ? "gains" : "loses"} ${words} a day`;
}

const percentText = (factor: number): string =>
  `${Math.abs(100 * (factor - 1)).toFixed(1)} % ${factor > 1 ? "more" : "less"}`;

const numberText = ({ exact, value }: { exact: string; value: number }, decimals = 3): string =>
  exact.includes("/") ? String(Number(value.toFixed(decimals))) : exact;

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
