/** a = U diag(sigma) Vᵀ of a small square matrix. All matrices column-major n x n; sigma is not sorted. */
export interface SingularValues {
  readonly u: Float64Array;
  readonly sigma: Float64Array;
  readonly v: Float64Array;
}

export const newSingularValues = (n: number): SingularValues => ({
  u: new Float64Array(n * n),
  sigma: new Float64Array(n),
  v: new Float64Array(n * n),
});

/**
 * Singular value decomposition by one-sided Jacobi rotations: slow for large n, but simple and accurate to the
 * last digits even for badly scaled columns. Writes into `out`, whose `u` holds the matrix on entry.
 * A zero singular value leaves a zero column in u.
 */
export function decomposeInPlace(out: SingularValues, n: number): void {
  const { u, sigma, v } = out;
  v.fill(0);
  for (let i = 0; i < n; i++) v[i * n + i] = 1;
  for (let sweep = 0; sweep < 60 && sweepOnce(u, v, n); sweep++);
  for (let j = 0; j < n; j++) {
    const norm = lengthOf(u, j * n, n);
    sigma[j] = norm;
    if (norm > 0) for (let i = 0; i < n; i++) u[j * n + i]! /= norm;
  }
}

// Small functions: loops of a long one are compiled on their own, and left again at its end, at every call.

/** Makes every pair of columns upright to each other; false if all were. */
function sweepOnce(u: Float64Array, v: Float64Array, n: number): boolean {
  let rotated = false;
  for (let p = 0; p < n - 1; p++)
    for (let q = p + 1; q < n; q++) if (rotatePair(u, v, p * n, q * n, n)) rotated = true;
  return rotated;
}

function rotatePair(u: Float64Array, v: Float64Array, p0: number, q0: number, n: number): boolean {
  let pp = 0;
  let qq = 0;
  let pq = 0;
  for (let i = 0; i < n; i++) {
    const x = u[p0 + i]!;
    const y = u[q0 + i]!;
    pp += x * x;
    qq += y * y;
    pq += x * y;
  }
  if (pq === 0 || Math.abs(pq) <= 1e-15 * Math.sqrt(pp) * Math.sqrt(qq)) return false;
  const zeta = (qq - pp) / (2 * pq);
  const t = Math.sign(zeta || 1) / (Math.abs(zeta) + Math.sqrt(1 + zeta * zeta));
  const c = 1 / Math.sqrt(1 + t * t);
  rotateColumns(u, p0, q0, n, c, c * t);
  rotateColumns(v, p0, q0, n, c, c * t);
  return true;
}

function lengthOf(a: Float64Array, from: number, n: number): number {
  let largest = 0;
  for (let i = from; i < from + n; i++) largest = Math.max(largest, Math.abs(a[i]!));
  if (largest === 0) return 0;
  let sum = 0;
  for (let i = from; i < from + n; i++) sum += (a[i]! / largest) ** 2;
  return largest * Math.sqrt(sum);
}

function rotateColumns(a: Float64Array, p0: number, q0: number, n: number, c: number, s: number): void {
  for (let i = 0; i < n; i++) {
    const x = a[p0 + i]!;
    const y = a[q0 + i]!;
    a[p0 + i] = c * x - s * y;
    a[q0 + i] = s * x + c * y;
  }
}
