import type { PartSummary } from "../wire.js";

export const kindWords: Readonly<Record<PartSummary["kind"], string>> = {
  wheel: "Wheel",
  "escape-wheel": "Escape wheel",
  ratchet: "Ratchet wheel",
  "count-wheel": "Count wheel",
  "locking-cam": "Locking cam",
  pinion: "Pinion",
  plate: "Plate",
};

/** What stands in a place of the rim. */
export const toothWords: Readonly<Record<"whole" | "short" | "missing" | "bent" | "unseen", string>> = {
  whole: "whole",
  short: "broken",
  missing: "missing",
  bent: "bent",
  unseen: "not seen",
};

/** A count is stated plainly from this probability on. */
const sure = 0.95;

export function countWords(part: PartSummary): string {
  if (part.kind === "plate") return "";
  if (part.count === undefined) return "?";
  if ((part.probability ?? 0) >= sure) return String(part.count);
  return [part.count, ...part.alternatives].slice(0, 2).join(" or ");
}

export const isSure = (part: PartSummary): boolean =>
  part.kind === "plate" || (part.count !== undefined && (part.probability ?? 0) >= sure);

/** "38.42 ± 0.06": expanded uncertainty, k = 2, two digits of it at most. */
export function quantityWords(q: { readonly value: number; readonly u: number }): string {
  const expanded = 2 * q.u;
  const digits = expanded > 0 ? Math.min(4, Math.max(0, 1 - Math.floor(Math.log10(expanded)))) : 3;
  return `${q.value.toFixed(digits)} ± ${expanded.toFixed(digits)}`;
}

export const severityWords = { fault: "Fault", watch: "Watch", note: "Note" } as const;
export const severityRank = { fault: 0, watch: 1, note: 2 } as const;

const trainWords = { T: "time", S: "strike", C: "chime", M: "motion work", P: "plate" } as const;

/** Places that a part may have when there is no movement file yet. */
export const usualPlaces: readonly { readonly label: string; readonly words: string }[] = (
  Object.entries(trainWords) as [keyof typeof trainWords, string][]
).flatMap(([letter, words]) =>
  Array.from({ length: 6 }, (_, i) => ({ label: `${letter}${i + 1}`, words: `${words} ${i + 1}` })),
);
