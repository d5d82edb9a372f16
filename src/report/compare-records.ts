import type { PartRecord, PhotoRecord } from "../record/index.js";
import { quantitiesOf } from "./content/quantities.js";
import { partName } from "./part-words.js";
import { quantityText } from "./rounded.js";

/** A difference between two measurements of one photograph that their uncertainties do not explain. */
export interface RecordDifference {
  readonly part: string;
  readonly text: string;
}

/**
 * Compares two records of the same photograph. Lengths differ when they are further apart than the expanded
 * uncertainty of their difference, taken as if they were independent; counts differ when they are not equal.
 *
 * Two measurements of one photograph share nearly all their errors, so that agreement says "the program still
 * finds the same", not "the value is right".
 */
export function compareRecords(before: PhotoRecord, now: PhotoRecord): RecordDifference[] {
  const differences: RecordDifference[] = [];
  const left = new Set(now.parts);
  for (const part of before.parts) {
    const again = nearest(part, [...left]);
    if (!again) {
      differences.push({ part: partName(part), text: "was found, is not found now" });
      continue;
    }
    left.delete(again);
    differences.push(...comparePart(part, again));
  }
  for (const part of left) differences.push({ part: partName(part), text: "is found now, was not found" });
  return differences;
}

/** The part that lies where this one lay. */
function nearest(part: PartRecord, others: readonly PartRecord[]): PartRecord | undefined {
  const distance = (other: PartRecord): number =>
    Math.hypot(other.centre_px[0] - part.centre_px[0], other.centre_px[1] - part.centre_px[1]);
  const best = others.reduce<PartRecord | undefined>(
    (a, b) => (a && distance(a) <= distance(b) ? a : b),
    undefined,
  );
  return best && distance(best) < 60 ? best : undefined;
}

function comparePart(before: PartRecord, now: PartRecord): RecordDifference[] {
  const part = partName(before);
  const differences: RecordDifference[] = [];
  const count = (p: PartRecord): string => (p.teeth ? `${p.teeth.count} teeth` : "no count");
  if (before.teeth?.count !== now.teeth?.count)
    differences.push({ part, text: `${count(before)} before, ${count(now)} now` });
  const missing = (p: PartRecord): number => p.teeth?.missing.length ?? 0;
  if (missing(before) !== missing(now))
    differences.push({ part, text: `${missing(before)} teeth missing before, ${missing(now)} now` });
  const later = new Map(quantitiesOf(now).map((named) => [named.key, named]));
  for (const { key, name, unit, q } of quantitiesOf(before)) {
    const other = later.get(key)?.q;
    const shown = (value: typeof q): string => quantityText(value, unit).replaceAll("\u00a0", " ");
    if (!other) {
      differences.push({ part, text: `${name.toLowerCase()} ${shown(q)} before, not measured now` });
      continue;
    }
    const apart = Math.abs(other.value - q.value);
    const turn = unit === "°" && key.includes("angle") ? Math.min(apart, 360 - apart) : apart;
    if (turn > 2 * Math.hypot(q.u, other.u))
      differences.push({ part, text: `${name.toLowerCase()} ${shown(q)} before, ${shown(other)} now` });
  }
  return differences;
}
