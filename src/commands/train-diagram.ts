import type { ArborPart, ArborResult, TrainResult } from "../trains/index.js";
import { terminalText } from "./terminal-text.js";

/**
 * A train in characters: one line an arbor, its pinion under the wheel that drives it.
 *
 *     96                   great     once in 12 h
 *      8──60               centre    once in 1 h     minute hand
 *          8──56           third     once in 8 min
 */
export function trainDiagram(train: TrainResult): readonly string[] {
  const wheelAt = new Map<string, number>();
  const rows = train.arbors.map((arbor) => {
    const start = arbor.drivenBy === undefined ? 0 : (wheelAt.get(arbor.drivenBy) ?? 0);
    const { text, wheelEnd } = arborLine(arbor, start);
    wheelAt.set(arbor.name, wheelEnd);
    return {
      gears: text,
      name: terminalText(arbor.name),
      turns: turnsText(arbor, train),
      rest: partsText(arbor),
    };
  });
  const width = (key: "gears" | "name" | "turns") => Math.max(...rows.map((row) => row[key].length));
  const [gears, name, turns] = [width("gears"), width("name"), width("turns")];
  return rows.map((row) =>
    `  ${row.gears.padEnd(gears)}   ${row.name.padEnd(name)}   ${row.turns.padEnd(turns)}   ${row.rest}`.trimEnd(),
  );
}

const countText = (part: ArborPart | undefined): string | undefined =>
  part && (part.missing ? "?" : String(part.count));

/** `start` is the column right of the driving wheel's last figure; the pinion ends there too. */
function arborLine(arbor: ArborResult, start: number): { text: string; wheelEnd: number } {
  const find = (name: ArborPart["part"]) => arbor.parts.find(({ part }) => part === name);
  const driver = countText(find("driver"));
  const pinion = countText(find("pinion"));
  const escape = countText(find("escape wheel"));
  const wheel = countText(find("wheel")) ?? escape;
  const driven = pinion ?? (driver === undefined ? undefined : countText(find("wheel")));
  const own = pinion === undefined && driver !== undefined ? undefined : wheel;
  let text =
    driven === undefined ? "" : (driver === undefined ? driven : `${driver}:${driven}`).padStart(start);
  if (own !== undefined) text += text === "" ? own.padStart(start) : `──${own}`;
  const wheelEnd = text.length;
  if (escape !== undefined && own === escape) text += "<";
  return { text, wheelEnd };
}

function turnsText({ secondsPerTurn, turnsPerBlow }: ArborResult, train: TrainResult): string {
  if (secondsPerTurn !== undefined) return `once in ${durationText(secondsPerTurn)}`;
  if (turnsPerBlow === undefined) return "";
  return `${turnsPerBlow.exact} ${turnsPerBlow.value === 1 ? "turn" : turnsPerBlow.value < 1 ? "of a turn" : "turns"} a ${train.strike?.unit ?? "blow"}`;
}

function partsText(arbor: ArborResult): string {
  const words = arbor.parts.flatMap(({ part, count, on }): string[] => {
    switch (part) {
      case "pins":
        return [plural(count!, "lifting pin")];
      case "locks":
        return [plural(count!, "locking place")];
      case "warning":
        return [plural(count!, "warning pin")];
      case "gathers":
        return [`gathers ${count}`];
      case "count wheel":
      case "fly":
        return [part];
      case "chime barrel":
        return [`chime barrel, ${plural(count!, "phrase")}`];
      case "driver":
        return on === undefined ? [] : [`from ${terminalText(on)}`];
      case "wheel":
      case "pinion":
        return [];
      case "escape wheel":
        return ["escape wheel"];
    }
  });
  return [...(arbor.hand === undefined ? [] : [`${arbor.hand} hand`]), ...words].join(", ");
}

export const plural = (count: number, word: string): string => `${count} ${word}${count === 1 ? "" : "s"}`;

/** 0.5 s, 8 min, 1 h 20 min, 12 h, 2 days. */
export function durationText(seconds: number): string {
  const rounded = (value: number, unit: string) => `${Number(value.toFixed(value < 10 ? 3 : 2))} ${unit}`;
  if (seconds < 60) return rounded(seconds, "s");
  if (seconds < 3600) return rounded(seconds / 60, "min");
  if (seconds <= 48 * 3600) return rounded(seconds / 3600, "h");
  return rounded(seconds / 86400, "days");
}
