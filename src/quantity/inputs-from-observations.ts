import { quantity, type InputId, type Quantity, type Term, type Unit } from "./quantity.js";

/**
 * Quantities for correlated estimates, decorrelated: their covariance is split as L Lᵀ, and each column of L is
 * one independent input. A covariance without full rank is allowed (estimates that move together).
 *
 * @param idPrefix inputs are called `${idPrefix}/1`, `/2` ...; same prefix, same inputs: use it once.
 * @param values n estimates.
 * @param covariance n x n, row-major; units are those of the estimates.
 * @param units of the estimates; default all "1".
 * @throws RangeError if sizes disagree, or the matrix is no covariance (a negative variance, a correlation beyond 1).
 */
export function inputsFromCovariance<U extends Unit = "1">(
  idPrefix: InputId,
  values: ArrayLike<number>,
  covariance: ArrayLike<number>,
  units?: readonly U[],
): Quantity<U>[] {
  const n = values.length;
  if (covariance.length !== n * n) {
    throw new RangeError(`covariance: expected ${n * n} elements, received ${covariance.length}`);
  }
  if (units !== undefined && units.length !== n) {
    throw new RangeError(`units: expected ${n}, received ${units.length}`);
  }
  const l = semidefiniteFactor(covariance, n);
  return Array.from({ length: n }, (_, i) => {
    const terms: Term[] = [];
    for (let j = 0; j <= i; j++) if (l[i * n + j] !== 0) terms.push([`${idPrefix}/${j + 1}`, l[i * n + j]!]);
    return quantity(values[i]!, units?.[i] ?? ("1" as U), terms);
  });
}

/**
 * Means of quantities that were observed together, with the correlation that the observations show.
 *
 * @param observations one row per joint observation: [[V1, I1, phi1], [V2, I2, phi2], ...]; two or more.
 * @returns one quantity per column; u is the standard deviation of the mean, with n - 1 degrees of freedom.
 * @throws RangeError if there are fewer than two rows or the rows differ in length.
 * Source: JCGM 100:2008, 4.2 and 5.2.3.
 */
export function inputsFromObservations(
  idPrefix: InputId,
  observations: readonly (readonly number[])[],
): Quantity<"1">[] {
  const rows = observations.length;
  if (rows < 2) throw new RangeError(`observations: expected 2 or more, received ${rows}`);
  const n = observations[0]!.length;
  if (observations.some((row) => row.length !== n)) {
    throw new RangeError(`observations: expected ${n} values in every row`);
  }
  const means = Array.from(
    { length: n },
    (_, j) => observations.reduce((sum, row) => sum + row[j]!, 0) / rows,
  );
  const covariance = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      let sum = 0;
      for (const row of observations) sum += (row[i]! - means[i]!) * (row[j]! - means[j]!);
      covariance[i * n + j] = sum / (rows - 1) / rows;
    }
  }
  return inputsFromCovariance(idPrefix, means, covariance);
}

/** Lower factor of a symmetric matrix without negative eigenvalues; a direction without variance gets zeros. */
function semidefiniteFactor(a: ArrayLike<number>, n: number): Float64Array {
  const l = new Float64Array(n * n);
  for (let j = 0; j < n; j++) {
    const variance = a[j * n + j]!;
    if (!(variance >= 0 && variance < Infinity)) {
      throw new RangeError(`covariance: expected a variance at ${j}, received ${variance}`);
    }
    let pivot = variance;
    for (let k = 0; k < j; k++) pivot -= l[j * n + k]! ** 2;
    if (pivot < -1e-9 * variance) {
      throw new RangeError(`covariance: element ${j} is correlated with the others by more than 1`);
    }
    const root = pivot > 1e-12 * variance ? Math.sqrt(pivot) : 0;
    l[j * n + j] = root;
    for (let i = j + 1; i < n; i++) {
      let sum = a[i * n + j]!;
      for (let k = 0; k < j; k++) sum -= l[i * n + k]! * l[j * n + k]!;
      if (root > 0) l[i * n + j] = sum / root;
      else if (Math.abs(sum) > 1e-5 * Math.sqrt(variance * a[i * n + i]!)) {
        throw new RangeError(`covariance: elements ${i} and ${j} are correlated by more than 1`);
      }
    }
  }
  return l;
}
