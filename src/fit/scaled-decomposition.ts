import { reduceToTriangle } from "./householder.js";
import { decomposeInPlace, newSingularValues, type SingularValues } from "./singular-values.js";

/** A = U diag(sigma) Vᵀ diag(size) with columns of unit length before the decomposition; U is left in Qᵀ's frame. */
export interface ScaledDecomposition {
  /** Lengths of the columns of A; 1 for a column of zeros. */
  readonly size: Float64Array;
  readonly svd: SingularValues;
  /** Number of singular values above rounding. */
  readonly rank: number;
}

/** Below this share of the largest, a singular value of unit columns is rounding. */
const RANK_TOLERANCE = 1e-13;

/**
 * Decomposes a tall matrix whose columns may differ in size by many powers of ten.
 *
 * @param columns m x n, column-major; overwritten.
 * @param b length m; overwritten by Qᵀ b.
 */
export function decomposeScaled(
  columns: Float64Array,
  m: number,
  n: number,
  b: Float64Array,
): ScaledDecomposition {
  const size = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    size[j] = unitColumn(columns, j * m, (j + 1) * m);
  }
  reduceToTriangle(columns, m, n, b);
  const svd = newSingularValues(n);
  copyTriangle(columns, m, n, svd.u);
  decomposeInPlace(svd, n);
  const largest = svd.sigma.reduce((x, y) => Math.max(x, y), 0);
  const rank = svd.sigma.reduce((count, s) => count + (s > RANK_TOLERANCE * largest ? 1 : 0), 0);
  return { size, svd, rank };
}

/** Makes a column one of unit length; returns what it was, 1 for zeros. */
function unitColumn(columns: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += columns[i]! ** 2;
  const size = Math.sqrt(sum) || 1;
  for (let i = from; i < to; i++) columns[i]! /= size;
  return size;
}

/** Copies the upper triangle of column-major m x n into n x n, with zeros below. */
export function copyTriangle(columns: Float64Array, m: number, n: number, out: Float64Array): void {
  out.fill(0);
  for (let j = 0; j < n; j++) for (let i = 0; i <= j; i++) out[j * n + i] = columns[j * m + i]!;
}

/** (AᵀA)⁻¹, n x n row-major, of a decomposition of full rank. */
export function inverseNormal({ size, svd: { sigma, v } }: ScaledDecomposition): Float64Array {
  const n = size.length;
  const inverse = new Float64Array(n * n);
  for (let k = 0; k < n; k++) {
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) {
        inverse[i * n + j]! +=
          (v[k * n + i]! / sigma[k]! / size[i]!) * (v[k * n + j]! / sigma[k]! / size[j]!);
      }
    }
  }
  return inverse;
}
