import type { ArborResult, TrainResult } from "../../record/index.js";
import { coverageFactor, roundQuantity } from "../rounded.js";
import type { Figure } from "../train-papers.js";
import type { Fact } from "./content.js";

interface RatioLike {
  readonly exact: string;
  readonly value: number;
}

/** "3600", "0.0833 (1/12)": the exact ratio beside a rounded one. */
export function ratioText(ratio: RatioLike): string {
  if (Number.isInteger(ratio.value)) return `${ratio.value}`;
  const digits = String(Number(ratio.value.toPrecision(6)));
  return ratio.exact.length <= 15 ? `${digits} (${ratio.exact})` : digits;
}

/** With its expanded uncertainty (k = 2), where it has one. */
export function measuredText({ value, u }: Figure, unit: string): string {
  const tail = unit === "" ? "" : `\u00a0${unit}`;
  if (u === undefined || u === 0) return `${Number(value.toPrecision(4))}${tail}`;
  const rounded = roundQuantity({ value, u });
  return `${rounded.value}\u00a0±\u00a0${rounded.expanded}${tail}`;
}

/** A length, with inches beside it on request. */
export const lengthWords = (mm: Figure, inches: boolean): string => {
  const inch = { value: mm.value / 25.4, ...(mm.u === undefined ? {} : { u: mm.u / 25.4 }) };
  return `${measuredText(mm, "mm")}${inches ? ` (${measuredText(inch, "in")})` : ""}`;
};

/** What a clock gains or loses, in the unit that suits, or how far it is from being known. */
export function rateWords({ value, u = 0 }: Figure): string {
  const open = coverageFactor * u;
  const size = Math.abs(value);
  const [divisor, unit] = Math.max(size, open) < 100 ? [1, "s"] : [60, "min"];
  if (size <= open) return `right to ${Number((open / divisor).toPrecision(2))} ${unit} a day`;
  if (size < 0.05) return "keeps time";
  return `${value > 0 ? "gains" : "loses"} ${measuredText({ value: size / divisor, u: u / divisor }, unit)} a day`;
}

export function timeFacts({ time }: TrainResult, inches: boolean): Fact[] {
  if (!time) return [];
  const rows: Fact[] = [];
  if (time.beatsPerHour) rows.push({ term: "Beats an hour", words: ratioText(time.beatsPerHour) });
  if (time.secondsPerBeat !== undefined)
    rows.push({ term: "One beat", words: `${Number(time.secondsPerBeat.toPrecision(5))} s` });
  const { pendulum } = time;
  if (pendulum) {
    rows.push({
      term: "Pendulum",
      words: `${lengthWords(pendulum.lengthMm, inches)}, for hardly any swing`,
    });
    if (pendulum.lengthAtArcMm !== undefined && pendulum.semiArcDeg)
      rows.push({
        term: "Pendulum at its arc",
        words: `${lengthWords(pendulum.lengthAtArcMm, inches)}, when it swings ${measuredText(pendulum.semiArcDeg, "").trim()}° to each side`,
      });
    if (pendulum.given)
      rows.push({
        term: "Pendulum as given",
        words: `${lengthWords(pendulum.given.lengthMm, inches)}; with it the clock ${withIt(pendulum.given.gainsSecondsPerDay)}`,
      });
  }
  if (time.balance)
    rows.push({
      term: "Balance",
      words: `${Number(time.balance.vibrationsPerSecond.toPrecision(5))} beats a second`,
    });
  if (time.escapeTurnS !== undefined)
    rows.push({ term: "Escape wheel, one turn", words: `${Number(time.escapeTurnS.toPrecision(6))} s` });
  if (time.hourlyArbor !== undefined)
    rows.push({ term: "Turns once an hour", words: [{ said: time.hourlyArbor }] });
  return rows;
}

const withIt = (gain: Figure): string =>
  rateWords(gain).startsWith("right") ? `is ${rateWords(gain)}, as far as its length tells` : rateWords(gain);

export function strikeFacts({ strike }: TrainResult, inches: boolean): Fact[] {
  if (!strike) return [];
  const noun = strike.unit === "blow" ? "Blows" : "Phrases";
  const rows: Fact[] = [];
  if (strike.blowsPerFirstTurn)
    rows.push({ term: `${noun}, one turn of the great wheel`, words: ratioText(strike.blowsPerFirstTurn) });
  if (strike.blowsPerDay !== undefined) rows.push({ term: `${noun} a day`, words: `${strike.blowsPerDay}` });
  if (strike.blowsPerWinding)
    rows.push({ term: `${noun} on one winding`, words: measuredText(strike.blowsPerWinding, "") });
  if (strike.countWheel?.blowsPerTurn)
    rows.push({
      term: "Count wheel, one turn",
      words: `${ratioText(strike.countWheel.blowsPerTurn)} blows; wanted ${ratioText(strike.countWheel.blowsWanted)}`,
    });
  if (strike.rack?.snailStepWantedMm)
    rows.push({
      term: "Snail steps",
      words:
        `${lengthWords(strike.rack.snailStepWantedMm, inches)} asked for by the rack` +
        (strike.rack.snailStepMm ? `; ${lengthWords(strike.rack.snailStepMm, inches)} measured` : ""),
    });
  if (strike.fly?.turnsPerBlow)
    rows.push({
      term: "Fly",
      words:
        `${ratioText(strike.fly.turnsPerBlow)} turns a ${strike.unit}` +
        (strike.fly.turnsPerMinute ? `, ${measuredText(strike.fly.turnsPerMinute, "")} a minute` : ""),
    });
  return rows;
}

export function windingFacts({ winding }: TrainResult): Fact[] {
  if (!winding) return [];
  return [
    {
      term: "Winding",
      words: [`${measuredText(winding.turns, "turns")} of the great wheel (`, { said: winding.model }, ")"],
    },
    ...(winding.turnsPerDay
      ? [{ term: "Great wheel, turns a day", words: ratioText(winding.turnsPerDay) }]
      : []),
    ...(winding.days ? [{ term: "Goes", words: measuredText(winding.days, "days") }] : []),
  ];
}

/** From here on a gear is called a wheel, whatever its place in the file. */
const mostLeaves = 24;

export const pinionsOf = (arbor: ArborResult): string =>
  partsOf({ ...arbor, parts: arbor.parts.filter((p) => (p.count ?? 0) <= mostLeaves) }, "pinion");

export const wheelsOf = (arbor: ArborResult): string =>
  [
    partsOf(arbor, "wheel", "escape wheel"),
    partsOf({ ...arbor, parts: arbor.parts.filter((p) => (p.count ?? 0) > mostLeaves) }, "pinion"),
  ]
    .filter((text) => text !== "")
    .join(", ");

const partsOf = (arbor: ArborResult, ...names: string[]): string =>
  arbor.parts
    .filter((p) => names.includes(p.part))
    .map((p) => (p.missing ? "not known" : p.count === undefined ? p.part : `${p.count}`))
    .join(", ");

const carried: Readonly<Record<string, string>> = {
  pins: "lifting pins",
  locks: "locking places",
  warning: "warning pins",
};

export const otherParts = (arbor: ArborResult): string =>
  [
    ...(arbor.hand === undefined ? [] : [`${arbor.hand} hand`]),
    ...arbor.parts
      .filter((p) => !["wheel", "escape wheel", "pinion", "driver"].includes(p.part))
      .map((p) => {
        if (p.count === undefined) return p.part;
        const words = carried[p.part];
        if (words === undefined) return `${p.part} ${p.count}`;
        return `${p.count} ${p.count === 1 ? words.slice(0, -1) : words}`;
      }),
  ].join(", ");

export function turnText(seconds: number): string {
  if (seconds >= 2 * 86400) return `${Number((seconds / 86400).toPrecision(5))} days`;
  if (seconds >= 7200) return `${Number((seconds / 3600).toPrecision(5))} h`;
  if (seconds >= 120) return `${Number((seconds / 60).toPrecision(5))} min`;
  return `${Number(seconds.toPrecision(5))} s`;
}
