/** How to divide a circle with a dividing plate: whole holes, or not at all. */
export interface Indexing {
  readonly count: number;
  /** Turns of the handle for one of the work: 1 where the plate sits on the work's own spindle. */
  readonly handleTurns: number;
  /** Rows that divide exactly, least movement of the plate's fewest holes first. */
  readonly exact: readonly ExactRow[];
  /** Rows that do not, and by how much rounded holes would be off; best first. */
  readonly inexact: readonly InexactRow[];
}

export interface ExactRow {
  readonly holes: number;
  /** From one tooth to the next: whole turns of the handle, and holes beyond them. */
  readonly turns: number;
  readonly holesOn: number;
}

export interface InexactRow {
  readonly holes: number;
  /** The next counts below and above that this row does divide. */
  readonly nearestCounts: readonly number[];
  /** Largest error of a tooth's place, were every place rounded to the nearest hole, rad at the work. */
  readonly largestErrorRad: number;
}

const most = { rows: 60, holes: 2000, turns: 200 };

/**
 * @param rows holes of each row of the plate.
 * @throws RangeError if rows or ratio are no such numbers.
 */
export function indexingFor(count: number, rows: readonly number[], handleTurns = 1): Indexing {
  if (rows.length > most.rows || rows.some((n) => !Number.isInteger(n) || n < 2 || n > most.holes))
    throw new RangeError(
      `expected up to ${most.rows} rows of 2 to ${most.holes} holes, such as 60,66,72,96,120`,
    );
  if (!Number.isInteger(handleTurns) || handleTurns < 1 || handleTurns > most.turns)
    throw new RangeError(`expected a whole number of turns from 1 to ${most.turns}`);
  const exact: ExactRow[] = [];
  const inexact: InexactRow[] = [];
  for (const holes of [...new Set(rows)].sort((a, b) => a - b)) {
    const places = holes * handleTurns;
    if (places % count === 0) {
      const step = places / count;
      exact.push({ holes, turns: Math.floor(step / holes), holesOn: step % holes });
    } else
      inexact.push({
        holes,
        nearestCounts: nearestDivisors(places, count),
        largestErrorRad: largestRounding(places, count),
      });
  }
  inexact.sort((a, b) => a.largestErrorRad - b.largestErrorRad);
  return { count, handleTurns, exact, inexact };
}

function nearestDivisors(places: number, count: number): readonly number[] {
  let below = count;
  while (below > 1 && places % below !== 0) below--;
  let above = count;
  while (above <= places && places % above !== 0) above++;
  return [...(below > 1 ? [below] : []), ...(above <= places ? [above] : [])];
}

/** Places are k * places / count; their fractions run through the multiples of gcd / count. */
function largestRounding(places: number, count: number): number {
  const parts = count / gcd(places, count);
  return ((2 * Math.PI) / places) * (Math.floor(parts / 2) / parts);
}

const gcd = (a: number, b: number): number => (b === 0 ? a : gcd(b, a % b));
