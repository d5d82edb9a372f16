import { nearestTurn } from "../../geometry/index.js";
import type { InputId } from "../../quantity/index.js";
import { logDensity } from "../fit-by-terms.js";
import type { TurnCandidate } from "./turn-candidates.js";
import type { CentreSeen } from "./solve-turn.js";
import { termedCentres } from "./solve-turn.js";

/** One choice of turns for all photographs. */
export interface ChosenTurns {
  readonly turnsRad: readonly number[];
  /** Of this choice against the best one; 0 for the best. */
  readonly logLikelihood: number;
}

/** Wheels are rarely off by more, mm; and they stand somewhere on the mat. Common practice, no source. */
const usualEccentricityMm = 0.15;
const anywhereMm = 100;
/** Choices kept from one photograph to the next. */
const mostKept = 400;
/** A set in which nothing was turned is not what was asked for: less likely, but not ruled out. */
const notTurned = -6;
const leastSpreadRad = Math.PI / 6;

/**
 * Chooses the turns so that the pictures agree and the centres lie on one circle. Photographs are taken in one after
 * the other; the likeliest choices so far go on.
 *
 * @param candidates of every photograph against the first; the first has the single candidate 0.
 */
export function chooseTurns(
  centres: readonly CentreSeen[],
  candidates: readonly (readonly TurnCandidate[])[],
): ChosenTurns[] {
  let kept: { turns: number[]; pictures: number; total: number }[] = [{ turns: [], pictures: 0, total: 0 }];
  candidates.forEach((list, k) => {
    const seen = centres.slice(0, k + 1);
    kept = kept
      .flatMap(({ turns, pictures }) =>
        list.map(({ turnRad, logLikelihood }) => {
          const all = [...turns, turnRad];
          const sum = pictures + logLikelihood;
          return { turns: all, pictures: sum, total: sum + pathLikelihood(seen, all) };
        }),
      )
      .sort((p, q) => q.total - p.total)
      .slice(0, mostKept);
  });
  const judged = kept
    .map((c) => ({ ...c, total: c.total + (spread(c.turns) < leastSpreadRad ? notTurned : 0) }))
    .sort((p, q) => q.total - p.total);
  const best = judged[0]!.total;
  return judged.map(({ turns, total }) => ({ turnsRad: turns, logLikelihood: total - best }));
}

/** How likely such centres are under these turns, whatever the axis and for every usual eccentricity. */
function pathLikelihood(centres: readonly CentreSeen[], turnsRad: readonly number[]): number {
  const { values, terms } = termedCentres(centres);
  const m = values.length;
  const column = (of: (k: number, axis: 0 | 1) => number): Float64Array =>
    Float64Array.from({ length: m }, (_, i) => of(i >> 1, (i & 1) as 0 | 1));
  const all = new Map<InputId, Float64Array>(terms);
  all.set(
    "fit:axis-x",
    column((_, axis) => (axis === 0 ? anywhereMm : 0)),
  );
  all.set(
    "fit:axis-y",
    column((_, axis) => (axis === 1 ? anywhereMm : 0)),
  );
  const e = usualEccentricityMm;
  all.set(
    "fit:offset-x",
    column((k, axis) => e * (axis === 0 ? Math.cos(turnsRad[k]!) : Math.sin(turnsRad[k]!))),
  );
  all.set(
    "fit:offset-y",
    column((k, axis) => e * (axis === 0 ? -Math.sin(turnsRad[k]!) : Math.cos(turnsRad[k]!))),
  );
  return logDensity({ values, terms: all });
}

/** Greatest difference between any two turns, rad, at most pi. */
function spread(turnsRad: readonly number[]): number {
  let most = 0;
  for (const a of turnsRad) for (const b of turnsRad) most = Math.max(most, Math.abs(nearestTurn(a - b)));
  return most;
}
