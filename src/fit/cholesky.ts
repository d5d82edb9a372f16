/**
 * Cholesky factor of a symmetric positive definite matrix: a = L Lᵀ.
 *
 * @param a n x n, row-major; only the lower triangle is read.
 * @returns L, n x n row-major with zeros above the diagonal; undefined if `a` is not positive definite.
 */
export function choleskyFactor(a: Float64Array, n: number): Float64Array | undefined {
  const l = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = a[i * n + j]!;
      for (let k = 0; k < j; k++) sum -= l[i * n + k]! * l[j * n + k]!;
      if (i === j) {
        // Also refuses NaN, and a pivot that is nothing but rounding.
        if (!(sum > 1e-15 * n * Math.abs(a[i * n + i]!))) return undefined;
        l[i * n + i] = Math.sqrt(sum);
      } else {
        l[i * n + j] = sum / l[j * n + j]!;
      }
    }
  }
  return l;
}

/** Solves L Lᵀ x = b in place, with L from choleskyFactor (n x n, row-major). */
export function choleskySolve(l: Float64Array, n: number, b: Float64Array): void {
  for (let i = 0; i < n; i++) {
    let sum = b[i]!;
    for (let k = 0; k < i; k++) sum -= l[i * n + k]! * b[k]!;
    b[i] = sum / l[i * n + i]!;
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = b[i]!;
    for (let k = i + 1; k < n; k++) sum -= l[k * n + i]! * b[k]!;
    b[i] = sum / l[i * n + i]!;
  }
}

/** Inverse of a symmetric positive definite n x n matrix (row-major); undefined if it is not one. */
export function invertSymmetric(a: Float64Array, n: number): Float64Array | undefined {
  const l = choleskyFactor(a, n);
  if (l === undefined) return undefined;
  const inverse = new Float64Array(n * n);
  const column = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    column.fill(0);
    column[j] = 1;
    choleskySolve(l, n, column);
    for (let i = 0; i < n; i++) inverse[i * n + j] = column[i]!;
  }
  return inverse;
}
