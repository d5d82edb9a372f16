import { evaluateMovement } from "./evaluate-movement.js";
import { gearsOf } from "./gearing.js";
import { nearestWord } from "./mistake.js";
import type { Arbor, Movement } from "./movement.js";
import type { MovementResult } from "./result.js";
import { withCounts } from "./with-counts.js";

/** A count to try: a gear ("time.third.wheel"), or pins, locks, warning or gathers of an arbor ("strike.pin wheel.pins"). */
export interface CountChange {
  readonly position: string;
  readonly count: number;
}

/** What a change does, side by side. */
export interface ChangeEffect {
  readonly before: MovementResult;
  readonly after: MovementResult;
  readonly trains: readonly {
    readonly name: string;
    /** After over before; absent where one of the two is not known. */
    readonly beatsFactor?: number;
    readonly blowsFactor?: number;
    readonly goingTimeFactor?: number;
  }[];
  /** Codes of findings that come or go, as "code position". */
  readonly newFindings: MovementResult["findings"];
  readonly goneFindings: MovementResult["findings"];
}

/**
 * @returns the movement with the counts changed.
 * @throws RangeError naming the places that can be changed, if a position is none of them.
 */
export function changeCounts(movement: Movement, changes: readonly CountChange[]): Movement {
  const gears = new Set(gearsOf(movement).map(({ position }) => position));
  const others = new Map<string, number>();
  const teeth = new Map<string, number>();
  const countable = movement.trains.flatMap((train) =>
    train.arbors.flatMap((arbor) =>
      countedParts
        .filter((part) => arbor[part] !== undefined)
        .map((part) => `${train.name}.${arbor.name}.${part}`),
    ),
  );
  for (const { position, count } of changes) {
    if (gears.has(position)) teeth.set(position, count);
    else if (countable.includes(position)) others.set(position, count);
    else {
      const places = [...gears, ...countable];
      const meant = nearestWord(position, places);
      throw new RangeError(
        `"${position}" is no count of this movement${meant === undefined ? `; there are: ${places.join(", ")}` : `; did you mean "${meant}"?`}`,
      );
    }
  }
  const changed = withCounts(movement, teeth);
  return {
    ...changed,
    trains: changed.trains.map((train) => ({
      ...train,
      arbors: train.arbors.map((arbor): Arbor => {
        const parts = countedParts.flatMap((part) => {
          const count = others.get(`${train.name}.${arbor.name}.${part}`);
          return count === undefined ? [] : [[part, { ...arbor[part]!, count }] as const];
        });
        return { ...arbor, ...Object.fromEntries(parts) };
      }),
    })),
  };
}

const countedParts = ["pins", "locks", "warning", "gathers"] as const;

/** Evaluates a movement before and after a change. */
export function effectOfChange(movement: Movement, changes: readonly CountChange[]): ChangeEffect {
  const before = evaluateMovement(movement);
  const after = evaluateMovement(changeCounts(movement, changes));
  const key = ({ code, position }: MovementResult["findings"][number]) => `${code} ${position ?? ""}`;
  const without = (a: MovementResult, b: MovementResult) => {
    const known = new Set(b.findings.map(key));
    return a.findings.filter((finding) => !known.has(key(finding)));
  };
  return {
    before,
    after,
    trains: before.trains.map((old, i) => {
      const now = after.trains[i]!;
      const factor = (a: number | undefined, b: number | undefined) =>
        a === undefined || b === undefined ? undefined : b / a;
      const beats = factor(old.time?.beatsPerHour?.value, now.time?.beatsPerHour?.value);
      const blows = factor(old.strike?.blowsPerFirstTurn?.value, now.strike?.blowsPerFirstTurn?.value);
      const time = factor(old.winding?.hours?.value, now.winding?.hours?.value);
      return {
        name: old.name,
        ...(beats !== undefined && { beatsFactor: beats }),
        ...(blows !== undefined && { blowsFactor: blows }),
        ...(time !== undefined && { goingTimeFactor: time }),
      };
    }),
    newFindings: without(after, before),
    goneFindings: without(before, after),
  };
}
