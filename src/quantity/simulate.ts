import type { InputId, Quantity, Unit } from "./quantity.js";
import { seededRandom, type SeededRandom } from "./seeded-random.js";

/** Shape of an independent input's distribution; its standard deviation is always the input's u. */
export type InputShape =
  | "normal"
  | "rectangular"
  | "triangular"
  | "arcsine"
  /** Scaled t with more than 2 degrees of freedom. */
  | { readonly studentDegreesOfFreedom: number };

export interface SimulateOptions {
  /** Default 200 000. */
  readonly draws?: number;
  /** Default 1; the same seed gives the same result. */
  readonly seed?: number;
  /** Coverage probability of the intervals; default 0.95. */
  readonly coverage?: number;
  /** Shapes of inputs that are not normal. */
  readonly shapes?: ReadonlyMap<InputId, InputShape>;
}

export interface Simulation {
  readonly mean: number;
  readonly standardDeviation: number;
  /** Shortest interval that holds the share `coverage` of the draws. */
  readonly shortest: readonly [number, number];
  /** Interval with as many draws below as above. */
  readonly symmetric: readonly [number, number];
}

/**
 * Propagation of distributions by Monte Carlo; inputs shared by several quantities are drawn once.
 *
 * @throws RangeError if f is not finite at a draw, there are fewer than 100 draws, the coverage is not in (0, 1),
 *   or a t distribution has 2 or fewer degrees of freedom.
 * Source: JCGM 101:2008, 7.2 to 7.7.
 */
export function simulate(
  inputs: readonly Quantity<Unit>[],
  f: (values: number[]) => number,
  options: SimulateOptions = {},
): Simulation {
  const { draws = 200_000, seed = 1, coverage = 0.95, shapes } = options;
  if (!(Number.isInteger(draws) && draws >= 100)) {
    throw new RangeError(`draws: expected a whole number of 100 or more, received ${draws}`);
  }
  if (!(coverage > 0 && coverage < 1)) {
    throw new RangeError(`coverage: expected a number between 0 and 1, received ${coverage}`);
  }
  const random = seededRandom(seed);
  const ids = [...new Set<InputId>(inputs.flatMap((q) => [...q.terms.keys()]))];
  const sources = ids.map((id) => ({
    draw: standardDraw(shapes?.get(id) ?? "normal", random),
    /** Which quantities it moves, and by how much. */
    moves: inputs.flatMap((q, i) => {
      const term = q.terms.get(id);
      return term === undefined ? [] : [{ i, term }];
    }),
  }));

  const results = new Float64Array(draws);
  const values = new Array<number>(inputs.length);
  for (let k = 0; k < draws; k++) {
    for (let i = 0; i < inputs.length; i++) values[i] = inputs[i]!.value;
    for (const { draw, moves } of sources) {
      const standard = draw();
      for (const { i, term } of moves) values[i]! += term * standard;
    }
    const result = f(values);
    if (!Number.isFinite(result)) {
      throw new RangeError(`the function is not finite at (${values.join(", ")})`);
    }
    results[k] = result;
  }
  return summarise(results, coverage);
}

/** Draws with mean 0 and standard deviation 1. */
function standardDraw(shape: InputShape, random: SeededRandom): () => number {
  if (typeof shape === "object") {
    const nu = shape.studentDegreesOfFreedom;
    if (!(nu > 2))
      throw new RangeError(`t distribution: expected more than 2 degrees of freedom, received ${nu}`);
    return studentDraw(nu, random);
  }
  switch (shape) {
    case "normal":
      return () => random.normal();
    case "rectangular":
      return () => Math.sqrt(12) * (random.uniform() - 0.5);
    case "triangular":
      return () => Math.sqrt(6) * (random.uniform() - random.uniform());
    case "arcsine":
      return () => Math.SQRT2 * Math.cos(2 * Math.PI * random.uniform());
  }
}

/** R. W. Bailey's polar method for the t distribution (1994, from memory), scaled to unit standard deviation. */
function studentDraw(nu: number, random: SeededRandom): () => number {
  const scale = Math.sqrt((nu - 2) / nu);
  return () => {
    for (;;) {
      const x = 2 * random.uniform() - 1;
      const y = 2 * random.uniform() - 1;
      const s = x * x + y * y;
      if (s > 1 || s === 0) continue;
      return scale * x * Math.sqrt((nu * (s ** (-2 / nu) - 1)) / s);
    }
  };
}

function summarise(results: Float64Array, coverage: number): Simulation {
  const n = results.length;
  let mean = 0;
  for (const y of results) mean += y;
  mean /= n;
  let sum = 0;
  for (const y of results) sum += (y - mean) ** 2;
  results.sort();
  const held = Math.min(n - 1, Math.round(coverage * n));
  let start = 0;
  for (let i = 0; i + held < n; i++) {
    if (results[i + held]! - results[i]! < results[start + held]! - results[start]!) start = i;
  }
  const low = Math.floor((n - held) / 2);
  return {
    mean,
    standardDeviation: Math.sqrt(sum / (n - 1)),
    shortest: [results[start]!, results[start + held]!],
    symmetric: [results[low]!, results[Math.min(n - 1, low + held)]!],
  };
}
