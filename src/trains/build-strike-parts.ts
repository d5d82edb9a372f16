import { plainName } from "./build-gear.js";
import type { Mistake } from "./mistake.js";
import type { ArborShape, TrainShape } from "./movement-shape.js";
import { shown } from "./shape-fields.js";
import type { CountWheel, Rack, Strikes, TrainDuty } from "./movement.js";
import { standardStrikes } from "./strikes.js";

export function buildCountWheel(
  shape: ArborShape["count wheel"],
  duty: TrainDuty,
  line: number,
  mistakes: Mistake[],
): CountWheel | undefined {
  if (shape === undefined || shape === false) return undefined;
  // The quarters come round every hour, the hours in twelve.
  const usual = duty === "chime" ? 1 : 12;
  if (shape === true) return { line, hoursPerTurn: usual };
  const hoursPerTurn = shape["once in"] === undefined ? usual : shape["once in"].value / 3600;
  if (hoursPerTurn > 24 || hoursPerTurn < 0.25)
    mistakes.push({ line, text: "expected a count wheel that turns once in 15 min to 24 h" });
  return { line, hoursPerTurn, ...(shape.blows && { blows: shape.blows }) };
}

export function readStrikes(given: string | number, line: number, mistakes: Mistake[]): Strikes | undefined {
  const words = typeof given === "number" ? `${given} blows in 12 hours` : plainName(given);
  const blows = typeof given === "number" ? given : standardStrikes.get(words);
  if (blows !== undefined && Number.isInteger(blows) && blows >= 1 && blows <= 2000)
    return { words, blowsPer12h: blows, line };
  mistakes.push({
    line,
    text: `expected what is struck (${[...standardStrikes.keys()].join(", ")}) or the blows in 12 hours, found ${shown(given)}`,
  });
  return undefined;
}

export function buildRack(shape: NonNullable<TrainShape["rack"]>, line: number): Rack {
  const optional = <K extends string, V>(key: K, value: V | undefined) =>
    (value === undefined ? {} : { [key]: value }) as { readonly [P in K]?: V };
  return {
    line,
    snailSteps: shape["snail steps"] ?? 12,
    ...optional("teeth", shape.teeth),
    ...optional("radiusMm", shape.radius),
    ...optional("toothPitchMm", shape["tooth pitch"]),
    ...optional("tailMm", shape.tail),
    ...optional("snailHighMm", shape["snail high"]),
    ...optional("snailLowMm", shape["snail low"]),
  };
}
