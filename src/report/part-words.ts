import type { PartRecord } from "../record/index.js";
import { shownText } from "./shown-text.js";

const kindWords: Readonly<Record<PartRecord["kind"], string>> = {
  wheel: "Wheel",
  "escape-wheel": "Escape wheel",
  ratchet: "Ratchet wheel",
  "count-wheel": "Count wheel",
  "locking-cam": "Locking cam",
  pinion: "Pinion",
  plate: "Plate",
};

/** "Wheel", "Escape wheel" ... */
export const partKindWords = (part: PartRecord): string => kindWords[part.kind];

/** "T2" when the part lies by a tag or was given a label, else its id in the photograph. */
export const partName = (part: PartRecord): string => shownText(part.label ?? part.id, { max: 24 });

/** A count is stated plainly from this probability on; below it the runners-up are named. */
export const sureProbability = 0.95;

/** What was counted round a count wheel may be its notches. */
export const isNotched = ({ notches, teeth }: PartRecord): boolean =>
  notches !== undefined && notches.notches.length === teeth?.count;

/** "64 teeth", "64 teeth (not sure: or 65)", "tooth count: cannot tell". */
export function countText(part: PartRecord): string {
  const { teeth } = part;
  if (part.kind === "plate") return "";
  const noun =
    part.kind === "pinion"
      ? "leaves"
      : part.kind === "locking-cam"
        ? "slots"
        : isNotched(part)
          ? "notches"
          : "teeth";
  if (!teeth) return `${part.kind === "pinion" ? "leaf" : "tooth"} count: cannot tell`;
  if (teeth.probability >= sureProbability) return `${teeth.count} ${noun}`;
  const others = teeth.alternatives.filter((a) => a.count !== teeth.count).slice(0, 2);
  const or = others.length > 0 ? `: or ${others.map((a) => a.count).join(" or ")}` : "";
  return `${teeth.count} ${noun} (not sure${or})`;
}

/** "12, 13, 20" as "12–13, 20". Numbers are tooth numbers; `count` closes the circle. */
export function runsText(numbers: readonly number[]): string {
  return runsOf(numbers)
    .map(([from, to]) => (from === to ? `${from}` : `${from}–${to}`))
    .join(", ");
}

/** Consecutive numbers, as first and last. */
export function runsOf(numbers: readonly number[]): [number, number][] {
  const runs: [number, number][] = [];
  for (const n of [...numbers].sort((a, b) => a - b)) {
    const run = runs.at(-1);
    if (run && n === run[1] + 1) run[1] = n;
    else if (!run || n !== run[1]) runs.push([n, n]);
  }
  return runs;
}

type ToothState = "whole" | "short" | "missing" | "bent" | "unseen";

/** Tooth numbers in a state. */
export const teethIn = (part: PartRecord, state: ToothState): number[] =>
  (part.teeth?.places ?? []).filter((place) => place.state === state).map((place) => place.number);
