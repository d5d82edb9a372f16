import type { Mistake } from "./mistake.js";
import type { GearShape } from "./movement-shape.js";
import { shown } from "./shape-fields.js";
import type { Gear } from "./movement.js";

export type LineOf = (path: readonly PropertyKey[]) => number;

interface GearPlace {
  readonly position: string;
  readonly words: string;
  readonly kind: "wheel" | "pinion";
  readonly lineOf: LineOf;
  readonly mistakes: Mistake[];
}

export function buildGear(shape: GearShape, place: GearPlace): Gear {
  const { position, words, kind, lineOf, mistakes } = place;
  const given = shape.teeth ?? shape.leaves;
  if (shape.teeth !== undefined && shape.leaves !== undefined)
    mistakes.push({ line: lineOf(["leaves"]), text: `${words}: give teeth or leaves, not both` });
  const seen: { count: number; probability: number }[] = [];
  for (const [text, probability] of Object.entries(shape.seen ?? {})) {
    const count = Number(text);
    if (/^\d{1,4}$/.test(text) && count >= 1) seen.push({ count, probability });
    else
      mistakes.push({
        line: lineOf(["seen", text]),
        text: `expected a tooth count before the colon, found ${shown(text)}`,
      });
  }
  const total = seen.reduce((sum, { probability }) => sum + probability, 0);
  if (total > 1.001)
    mistakes.push({
      line: lineOf(["seen"]),
      text: `the probabilities of ${words} add up to ${total.toFixed(3)}, more than 1`,
    });
  seen.sort((a, b) => b.probability - a.probability);
  const guess = given === undefined ? seen[0]?.count : undefined;
  return {
    position,
    words,
    kind,
    teeth: typeof given === "number" ? given : (guess ?? "missing"),
    ...(guess !== undefined && { teethFromPhotographs: true }),
    line: lineOf([]),
    ...(shape.module && { moduleMm: shape.module, ...(seen[0] && { moduleCount: seen[0].count }) }),
    ...(shape["tip diameter"] && { tipDiameterMm: shape["tip diameter"] }),
    ...(seen.length > 0 && { seen }),
  };
}

export const plainName = (name: string): string =>
  name
    .trim()
    .toLowerCase()
    .replace(/[\s_-]+/g, " ");
