/**
 * Reduces a least-squares problem to triangular form in place: A = Q R, b becomes Qᵀ b (Householder).
 *
 * @param a m x n, column-major (length m n); on return its upper triangle holds R.
 * @param b length m; on return Qᵀ b.
 */
export function reduceToTriangle(a: Float64Array, m: number, n: number, b: Float64Array): void {
  for (let j = 0; j < Math.min(n, m); j++) {
    const cj = j * m;
    let largest = 0;
    for (let i = j; i < m; i++) largest = Math.max(largest, Math.abs(a[cj + i]!));
    if (largest === 0) continue;
    let sum = 0;
    for (let i = j; i < m; i++) {
      const v = a[cj + i]! / largest;
      sum += v * v;
    }
    // Sign chosen against cancellation.
    const norm = a[cj + j]! > 0 ? -largest * Math.sqrt(sum) : largest * Math.sqrt(sum);
    const head = a[cj + j]! - norm;
    // Reflection I - v vᵀ / (norm * -head), v = (head, a[j+1..]).
    const factor = -1 / (norm * head);
    a[cj + j] = head;
    for (let k = j + 1; k < n; k++) reflect(a, cj, a, k * m, j, m, factor);
    reflect(a, cj, b, 0, j, m, factor);
    a[cj + j] = norm;
  }
}

function reflect(
  v: Float64Array,
  v0: number,
  x: Float64Array,
  x0: number,
  from: number,
  to: number,
  factor: number,
): void {
  let dot = 0;
  for (let i = from; i < to; i++) dot += v[v0 + i]! * x[x0 + i]!;
  dot *= factor;
  if (dot === 0) return;
  for (let i = from; i < to; i++) x[x0 + i]! -= dot * v[v0 + i]!;
}
