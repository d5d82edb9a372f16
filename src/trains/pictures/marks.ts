import { gearsOf } from "../gearing.js";
import type { Movement } from "../movement.js";
import type { MovementResult } from "../result.js";
import type { DoubtResult } from "../weigh-counts.js";

/** How a gear or an arbor is to be marked: hatching and "!" for what a finding is about, dashes and "?" for doubt. */
export interface Mark {
  readonly faulty: boolean;
  readonly uncertain: boolean;
}

/** Below this probability a count of the photographs is drawn as doubtful. */
const sureFrom = 0.99;

/** @returns the mark of a position ("time.third.wheel", "strike.warning"). */
export function marksOf(
  movement: Movement,
  result: Pick<MovementResult, "findings" | "missing">,
  doubt?: DoubtResult,
): (position: string) => Mark {
  const faulty = new Set<string>();
  const uncertain = new Set(result.missing.map(({ position }) => position));
  for (const { position, severity } of result.findings)
    if (position !== undefined && severity !== "note") faulty.add(position);
  for (const { position } of doubt?.suspects ?? []) faulty.add(position);
  for (const { position, probability } of doubt?.counts ?? [])
    if (probability < sureFrom) uncertain.add(position);
  for (const { position, teeth, seen, teethFromPhotographs } of gearsOf(movement)) {
    if (teeth === "missing") uncertain.add(position);
    const weighed = doubt?.counts.some((one) => one.position === position) === true;
    const own = seen?.find(({ count }) => count === teeth)?.probability ?? 0;
    if (!weighed && seen !== undefined && teethFromPhotographs && own < sureFrom) uncertain.add(position);
  }
  return (position) => ({ faulty: faulty.has(position), uncertain: uncertain.has(position) });
}
