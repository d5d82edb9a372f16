import { propagate, quantity, type InputId, type Quantity, type Term } from "../../quantity/index.js";
import { chiSquaredLimit, fitByTerms, type TermedNumbers } from "../fit-by-terms.js";
import { spreadByNoise } from "./spread-by-noise.js";

/** Numbers that would all be explained by a few unknowns if nothing had moved. */
export interface Readings<U extends "mm" | "rad"> {
  readonly unit: U;
  /** 2: x and y of every photograph in turn; 1: one number each. */
  readonly perPhoto: 1 | 2;
  readonly photos: number;
  /** Readings first; what is believed of the unknowns beforehand may follow as further numbers. */
  readonly observed: TermedNumbers;
  /** Row-major, one row for each number. */
  readonly design: Float64Array;
  readonly unknowns: number;
  /** A term of this name is added for the movement itself, once there is one. */
  readonly name: string;
}

export interface Movement<U extends "mm" | "rad"> {
  /** Greatest difference between any two photographs, without what noise adds to it. */
  readonly greatest: Quantity<U>;
  /** What noise alone exceeds once in 20 such sets: a smaller movement stays unseen. */
  readonly limit: number;
  readonly seen: "moved" | "still" | "unclear";
  /** The two photographs that are furthest apart. */
  readonly between: readonly [number, number];
  /** What is left of every reading. */
  readonly residuals: Float64Array;
  /** Values of the unknowns. */
  readonly unknowns: readonly number[];
  /** Of all readings under "nothing moved", in units of their covariance. */
  readonly chiSquared: number;
}

/**
 * The greatest movement between photographs, and whether it is more than their noise makes.
 *
 * @returns undefined if the readings leave an unknown open.
 */
export function measureMovement<U extends "mm" | "rad">(readings: Readings<U>): Movement<U> | undefined {
  const still = residualsOf(readings, 0);
  if (still === undefined) return undefined;
  const spread = (v: Float64Array): number => greatestPair(v, readings).spread;
  const noise = spreadByNoise(still.residuals, spread);
  const first = greatestPair(still.residuals.values, readings);
  // Several small movements together may say more than the greatest of them.
  const degrees = readings.observed.values.length - readings.unknowns;
  const isSure = first.spread > noise.limit9995 || still.chiSquared > chiSquaredLimit(degrees, surelyMoved);
  const seen = first.spread <= noise.limit95 ? "still" : isSure ? "moved" : "unclear";
  // Once something has moved, the unknowns may not take the movement upon themselves.
  const scatter = Math.sqrt(Math.max(0, meanSquare(still.residuals.values, readings) - noise.meanSquare / 4));
  const moved = seen === "moved" ? residualsOf(readings, 1.5 * scatter) : undefined;
  const { residuals, unknowns, chiSquared } = moved ?? still;
  const pair = greatestPair(residuals.values, readings);
  return {
    greatest: quantityOf(pair, residuals, readings, noise),
    limit: noise.limit95,
    seen,
    between: [pair.a, pair.b],
    residuals: residuals.values,
    unknowns,
    chiSquared: still.chiSquared ?? chiSquared,
  };
}

/** Chance of about 1 in 6000 that a set in which nothing moved does worse. */
const surelyMoved = 3.6;

interface Left {
  readonly residuals: TermedNumbers;
  readonly unknowns: readonly number[];
  readonly chiSquared: number;
}

/** What the unknowns leave, and what every input leaves; a movement of its own in each reading is no noise. */
function residualsOf(readings: Readings<"mm" | "rad">, movement: number): Left | undefined {
  const { observed, design, unknowns: n, perPhoto, photos, name } = readings;
  const m = observed.values.length;
  const terms = new Map(observed.terms);
  const own: InputId[] = [];
  if (movement > 0)
    for (let i = 0; i < perPhoto * photos; i++) {
      const id: InputId = `fit:movement-${name}-${i}`;
      own.push(id);
      terms.set(
        id,
        Float64Array.from({ length: m }, (_, j) => (i === j ? movement : 0)),
      );
    }
  const fit = fitByTerms(design, n, { values: observed.values, terms }, "1");
  if (!fit.ok) return undefined;
  const { params, residuals, chiSquared } = fit.value;
  const left = new Map<InputId, Float64Array>();
  for (const [id, term] of terms) {
    const isOwn = own.includes(id);
    left.set(
      id,
      Float64Array.from(term, (t, i) => {
        let sum = isOwn ? 0 : t;
        for (let j = 0; j < n; j++) sum -= design[i * n + j]! * (params[j]!.terms.get(id) ?? 0);
        return sum;
      }),
    );
  }
  return {
    residuals: { values: residuals, terms: left },
    unknowns: params.map((p) => p.value),
    chiSquared,
  };
}

interface Pair {
  readonly spread: number;
  readonly a: number;
  readonly b: number;
}

function greatestPair(v: Float64Array, { perPhoto, photos }: Readings<"mm" | "rad">): Pair {
  let best: Pair = { spread: -1, a: 0, b: 0 };
  for (let a = 0; a < photos; a++) {
    for (let b = a + 1; b < photos; b++) {
      const spread =
        perPhoto === 1
          ? Math.abs(v[a]! - v[b]!)
          : Math.hypot(v[2 * a]! - v[2 * b]!, v[2 * a + 1]! - v[2 * b + 1]!);
      if (spread > best.spread) best = { spread, a, b };
    }
  }
  return best;
}

function meanSquare(v: Float64Array, { perPhoto, photos }: Readings<"mm" | "rad">): number {
  let sum = 0;
  for (let i = 0; i < perPhoto * photos; i++) sum += v[i]! ** 2;
  return sum / (perPhoto * photos);
}

/**
 * The spread as a quantity. Noise lengthens it, in square, and that is taken off; near zero the uncertainty covers
 * what noise alone makes of nothing, so that the interval of a wheel that has not moved holds zero.
 */
function quantityOf<U extends "mm" | "rad">(
  pair: Pair,
  residuals: TermedNumbers,
  { perPhoto, unit, name }: Readings<U>,
  noise: { readonly meanSquare: number; readonly limit95: number },
): Quantity<U> {
  const { a, b, spread } = pair;
  const value = Math.sqrt(Math.max(0, spread ** 2 - noise.meanSquare));
  const along = (v: Float64Array): number => {
    if (perPhoto === 1) return Math.sign(residuals.values[a]! - residuals.values[b]!) * (v[a]! - v[b]!);
    if (spread === 0) return v[2 * a]! - v[2 * b]!;
    const x = (residuals.values[2 * a]! - residuals.values[2 * b]!) / spread;
    const y = (residuals.values[2 * a + 1]! - residuals.values[2 * b + 1]!) / spread;
    return x * (v[2 * a]! - v[2 * b]!) + y * (v[2 * a + 1]! - v[2 * b + 1]!);
  };
  const near = Math.exp(-(spread ** 2) / (4 * noise.meanSquare));
  const terms = [...residuals.terms].map(([id, t]): Term => [id, along(t)]);
  return propagate(
    value,
    unit,
    [[quantity(value, unit, terms), 1]],
    [[`fit:spread-${name}`, (near * noise.limit95) / 2]],
  );
}
