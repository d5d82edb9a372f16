import { selectInPlace } from "./select-in-place.js";

/** Middle value; mean of the two middle ones for an even count. @throws RangeError if there are none. */
export function medianOf(values: ArrayLike<number>): number {
  const copy = new Float64Array(values.length);
  for (let i = 0; i < copy.length; i++) copy[i] = values[i]!;
  return medianInPlace(copy);
}

/** The same, of a list that may be reordered. */
export function medianInPlace(values: Float64Array): number {
  const n = values.length;
  if (n === 0) throw new RangeError("median: expected one or more values, received none");
  const upper = n >> 1;
  let isWhole = true;
  for (let i = 0; i < n; i++) if (values[i] !== values[i]) isWhole = false;
  // NaN is neither below nor above anything; sorted, it comes last.
  if (isWhole) selectInPlace(values, upper);
  else values.sort();
  if (n % 2 === 1) return values[upper]!;
  let lower = values[0]!;
  for (let i = 1; i < upper; i++) if (!(values[i]! <= lower)) lower = values[i]!;
  return 0.5 * (lower + values[upper]!);
}

/** Makes the median absolute deviation an estimate of a normal standard deviation: 1 / Phi⁻¹(3/4). */
const MAD_TO_SIGMA = 1.482602218505602;

/**
 * Standard deviation that outliers (up to half of the values) do not spoil: 1.4826 times the median absolute
 * deviation from the median. Unit of the values.
 *
 * @throws RangeError if there are no values.
 */
export function robustScale(values: ArrayLike<number>): number {
  const copy = new Float64Array(values.length);
  for (let i = 0; i < copy.length; i++) copy[i] = values[i]!;
  const middle = medianInPlace(copy);
  for (let i = 0; i < copy.length; i++) copy[i] = Math.abs(copy[i]! - middle);
  return MAD_TO_SIGMA * medianInPlace(copy);
}
