/** Middle value; mean of the two middle ones for an even count. @throws RangeError if there are none. */
export function medianOf(values: ArrayLike<number>): number {
  const sorted = Float64Array.from(values).sort();
  const n = sorted.length;
  if (n === 0) throw new RangeError("median: expected one or more values, received none");
  return n % 2 === 1 ? sorted[n >> 1]! : 0.5 * (sorted[n / 2 - 1]! + sorted[n / 2]!);
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
  const middle = medianOf(values);
  return MAD_TO_SIGMA * medianOf(Float64Array.from(values, (v) => Math.abs(v - middle)));
}
