import type { Product } from "./product.js";
import { valueWith } from "./product.js";
import type { Ratio } from "./ratio.js";

/** How well a set of counts meets one condition. */
export interface Verdict {
  readonly fits: boolean;
  /** Squared deviation in standard uncertainties; for an exact condition 0 or `penaltyChiSquared`. */
  readonly chiSquared: number;
  /** Value over the wanted one, less 1; absent where it has no sense. */
  readonly deviation?: number;
}

/** Something that the counts of a sound clock must meet. */
export interface Condition {
  readonly id: string;
  /** For a reader: "the count wheel goes round once in 78 blows". */
  readonly words: string;
  /** Exact: whole turns, twelve hours. The others are measured and have an uncertainty. */
  readonly exact: boolean;
  /** About sizes of gears (module, centre distance) rather than about what the train does. */
  readonly aboutSizes: boolean;
  /** Positions of the counts it hangs on. */
  readonly unknown: readonly string[];
  readonly judge: (counts: ReadonlyMap<string, number>) => Verdict;
}

/** An exact condition that fails weighs as much as a deviation of about five standard uncertainties. */
export const penaltyChiSquared = 27;

/** Beyond this many standard uncertainties a measured condition is not met. */
export const fitLimit = 3;

const fit: Verdict = { fits: true, chiSquared: 0, deviation: 0 };

export function mustEqual(id: string, words: string, product: Product, wanted: Ratio): Condition {
  const at = floatValue(product);
  const target = wanted.toNumber();
  return {
    id,
    words,
    exact: true,
    aboutSizes: false,
    unknown: [...product.unknown.keys()],
    judge: (counts) => {
      const deviation = at(counts) / target - 1;
      // Floats sort out nearly all; the last word is exact.
      if (Math.abs(deviation) < 1e-9 && valueWith(product, counts)!.equals(wanted)) return fit;
      return { fits: false, chiSquared: penaltyChiSquared, deviation };
    },
  };
}

export function mustBeWhole(id: string, words: string, product: Product): Condition {
  const at = floatValue(product);
  return {
    id,
    words,
    exact: true,
    aboutSizes: false,
    unknown: [...product.unknown.keys()],
    judge: (counts) => {
      const value = at(counts);
      const nearest = Math.round(value);
      if (nearest >= 1 && Math.abs(value - nearest) < 1e-9 * value && valueWith(product, counts)!.isWhole())
        return fit;
      return { fits: false, chiSquared: penaltyChiSquared };
    },
  };
}

/** @param relativeU standard uncertainty of `wanted` as a share of it. */
export function mustBeNear(
  id: string,
  words: string,
  product: Product,
  wanted: number,
  relativeU: number,
): Condition {
  const at = floatValue(product);
  return {
    id,
    words,
    exact: false,
    aboutSizes: false,
    unknown: [...product.unknown.keys()],
    judge: (counts) => {
      const deviation = at(counts) / wanted - 1;
      const chiSquared = (deviation / relativeU) ** 2;
      return { fits: chiSquared <= fitLimit * fitLimit, chiSquared, deviation };
    },
  };
}

/** The product as a float, quick to evaluate for many sets of counts. */
function floatValue(product: Product): (counts: ReadonlyMap<string, number>) => number {
  const known = product.known.toNumber();
  const powers = [...product.unknown];
  return (counts) => {
    let value = known;
    for (const [position, power] of powers) {
      const count = counts.get(position)!;
      if (power === 1) value *= count;
      else if (power === -1) value /= count;
      else value *= count ** power;
    }
    return value;
  };
}
