import {
  standardUncertainty,
  type InputId,
  type Quantity,
  type Source,
  type Unit,
} from "../quantity/index.js";

/** One contribution to a standard uncertainty, in the unit of its quantity. */
export interface BudgetEntry {
  readonly source: Source;
  /** The one input meant, where it can be acted on alone. */
  readonly input?: string;
  readonly u: number;
}
export interface QuantityRecord {
  readonly value: number;
  readonly u: number;
  readonly budget?: readonly BudgetEntry[];
}

const degreesPerRad = 180 / Math.PI;

/** Counter-clockwise angle as degrees in [0, 360). */
export function degreesFromRad(rad: number): number {
  const degrees = round((((rad * degreesPerRad) % 360) + 360) % 360, 4);
  return degrees >= 360 ? 0 : degrees;
}

/** Decimals are cut where they stop meaning anything; -0 becomes 0. */
export const round = (value: number, decimals: number): number => {
  const scale = 10 ** decimals;
  return Math.round(value * scale) / scale + 0;
};

/** A few significant digits; enough for any uncertainty. */
const significant = (value: number): number => Number(value.toPrecision(4));

/** Inputs that the user can act on one by one keep their name; the others are added up by source. */
const keepsItsName: ReadonlySet<Source> = new Set<Source>(["scale", "height"]);

/** Contributions by source, largest first; negligible ones (below a thousandth of the total) are left out. */
function budgetOf(terms: ReadonlyMap<InputId, number>, factor: number): BudgetEntry[] {
  const squares = new Map<string, { source: Source; input?: string; square: number }>();
  let total = 0;
  for (const [id, term] of terms) {
    const source = id.slice(0, id.indexOf(":")) as Source;
    const key = keepsItsName.has(source) ? id : source;
    const entry = squares.get(key) ?? {
      source,
      ...(keepsItsName.has(source) ? { input: id.slice(source.length + 1) } : {}),
      square: 0,
    };
    entry.square += (term * factor) ** 2;
    total += (term * factor) ** 2;
    squares.set(key, entry);
  }
  return [...squares.values()]
    .filter(({ square }) => square > 1e-6 * total)
    .sort((a, b) => b.square - a.square)
    .map(({ square, ...entry }) => ({ ...entry, u: significant(Math.sqrt(square)) }));
}

/**
 * A quantity as the record states it, in its own unit (mm, 1), or in degrees if it was in rad.
 *
 * @param direction true for directions, which are brought into [0, 360).
 * @returns undefined if value or uncertainty is not finite: such a value may not leave the program.
 */
export function recordQuantity(q: Quantity<Unit>, direction = false): QuantityRecord | undefined {
  const factor = q.unit === "rad" ? degreesPerRad : 1;
  const u = standardUncertainty(q) * factor;
  if (!Number.isFinite(q.value) || !Number.isFinite(u)) return undefined;
  const value = direction ? degreesFromRad(q.value) : round(q.value * factor, 6);
  const budget = budgetOf(q.terms, factor);
  return { value, u: significant(u), ...(budget.length > 0 ? { budget } : {}) };
}
