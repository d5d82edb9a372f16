import type {
  ChangeEffect,
  DoubtResult,
  Measured,
  MissingAnswer,
  MissingResult,
  MovementResult,
  TrainFinding,
} from "../trains/index.js";
import type { LengthText } from "./measured-text.js";
import { columns } from "./text-columns.js";
import { numberText, rateText } from "./measured-text.js";
import { terminalText } from "./terminal-text.js";
import { durationText } from "./train-diagram.js";

export function missingLines(
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
  const signed = ({ value, ...u }: Measured) =>
    `${value > 0.05 ? "+" : ""}${length({ value: Math.abs(value) < 0.05 ? 0 : value, ...u })}`;
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

export function doubtLines(doubt: DoubtResult | undefined): readonly string[] {
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

export function changeLines(change: ChangeEffect | undefined): readonly string[] {
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
    if (parts.length === 0) return [];
    const runs = (result: MovementResult) =>
      result.trains.find((train) => train.name === name)?.winding?.hours?.value;
    const [now, then] = [runs(change.before), runs(change.after)];
    const goes =
      now === undefined || then === undefined || goingTimeFactor === 1
        ? []
        : [`    goes ${durationText(3600 * then)} instead of ${durationText(3600 * now)}`];
    return [`  ${terminalText(name)}: ${parts.join(", ")}`, ...goes];
  });
  return [
    "With the change",
    ...(lines.length > 0 ? lines : ["  nothing about beats, blows or going time"]),
    ...findingLines("  New findings", change.newFindings),
    ...findingLines("  No longer found", change.goneFindings),
  ];
}

export function findingLines(title: string, findings: readonly TrainFinding[]): readonly string[] {
  if (findings.length === 0) return [];
  return [
    title,
    ...findings.flatMap(({ severity, text, advice, line }) => [
      `  ${severity.padEnd(5)}  ${line === undefined ? "" : `line ${line}: `}${terminalText(text)}`,
      ...(advice === undefined ? [] : [`         → ${terminalText(advice)}`]),
    ]),
  ];
}

const percentText = (factor: number): string =>
  `${Math.abs(100 * (factor - 1)).toFixed(1)} % ${factor > 1 ? "more" : "less"}`;

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
