export interface WeightedMean {
  readonly mean: number;
  /** Standard uncertainty if the weights are 1/u². */
  readonly u: number;
  /** Sum of w (value - mean)²; about n - 1 if the weights are 1/u² and the values agree. */
  readonly chiSquared: number;
}

/**
 * Mean of independent values.
 *
 * @param weights 1/u² of each value; default 1.
 * @throws RangeError if there are no values, lengths disagree, or the weights are negative or all zero.
 */
export function weightedMean(values: ArrayLike<number>, weights?: ArrayLike<number>): WeightedMean {
  const n = values.length;
  if (weights && weights.length !== n) {
    throw new RangeError(`weights: expected ${n}, received ${weights.length}`);
  }
  let total = 0;
  let sum = 0;
  for (let i = 0; i < n; i++) {
    const w = weights ? weights[i]! : 1;
    if (!(w >= 0 && w < Infinity)) throw new RangeError(`weight ${i}: expected 0 or more, received ${w}`);
    total += w;
    sum += w * values[i]!;
  }
  if (!(total > 0)) throw new RangeError("mean: expected one or more values with a weight, received none");
  const mean = sum / total;
  let chiSquared = 0;
  for (let i = 0; i < n; i++) chiSquared += (weights ? weights[i]! : 1) * (values[i]! - mean) ** 2;
  return { mean, u: 1 / Math.sqrt(total), chiSquared };
}
