import type { PartRecord } from "../../../record/index.js";
import { toothWords } from "../words.js";

type Place = NonNullable<NonNullable<PartRecord["teeth"]>["places"]>[number];
type Px = readonly [number, number];

export interface ToothLabel {
  readonly text: string;
  /** Tooth that it stands at. */
  readonly number: number;
  /** Middle of the text, screen px from the part's centre. */
  readonly at: Px;
}

const nearest = 24;
const lineHeight = 15;
const letterWidth = 7.2;

/**
 * What is written round a part: "14-15 missing" at teeth that are not whole, else numbers where there is room. Labels
 * that would hide one another stand further out.
 *
 * @param tipAt where a tooth's tip is, screen px from the part's centre.
 * @param every so many teeth a number.
 */
export function toothLabels(
  places: readonly Place[],
  tipAt: (place: Place) => Px,
  options: { readonly every: number; readonly numbers: boolean; readonly here: number | undefined },
): ToothLabel[] {
  const { every, numbers, here } = options;
  const odd = runsOf(places).map((run) => ({ run, text: runText(run), place: run[(run.length - 1) >> 1]! }));
  const taken: ToothLabel[] = [];
  const labelAt = (place: Place, text: string, far: number): ToothLabel => {
    const [x, y] = tipAt(place);
    const r = Math.hypot(x, y) || 1;
    // A long one beside the part begins where a short one would.
    const aside = (text.length * letterWidth) / 2 - 8;
    const at: Px = [x + (x / r) * (far + Math.max(0, aside)), y + (y / r) * far];
    return { text, number: place.number, at };
  };
  const put = (place: Place, text: string): void => {
    for (let far = nearest; ; far += lineHeight) {
      const label = labelAt(place, text, far);
      const isFree = taken.every((other) => !hides(label, other));
      if (isFree || far > nearest + 6 * lineHeight) return void taken.push(label);
    }
  };
  for (const { place, text } of odd) put(place, text);
  for (const place of places) {
    if (place.state !== "whole") continue;
    if (place.number === here) put(place, String(place.number));
    else if (numbers && (place.number === 1 || place.number % every === 0)) {
      const label = labelAt(place, String(place.number), nearest);
      // A number says little: it gives way.
      if (taken.every((other) => !hides(label, other))) taken.push(label);
    }
  }
  return taken;
}

/** Neighbours of the same state, together. */
function runsOf(places: readonly Place[]): Place[][] {
  const runs: Place[][] = [];
  for (const place of places) {
    if (place.state === "whole") continue;
    const last = runs.at(-1)?.at(-1);
    if (last?.state === place.state && last.number === place.number - 1) runs.at(-1)!.push(place);
    else runs.push([place]);
  }
  return runs;
}

function runText(run: readonly Place[]): string {
  const [first, last] = [run[0]!, run.at(-1)!];
  const numbers = first === last ? String(first.number) : `${first.number}–${last.number}`;
  return `${numbers} ${toothWords[first.state]}`;
}

function hides(a: ToothLabel, b: ToothLabel): boolean {
  const width = ((a.text.length + b.text.length) / 2) * letterWidth + 4;
  return Math.abs(a.at[0] - b.at[0]) < width && Math.abs(a.at[1] - b.at[1]) < lineHeight;
}
