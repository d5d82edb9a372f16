/** Seeded draws of the standard normal distribution (Box and Muller), for Monte Carlo in tests. */
export function normals(start: number): () => number {
  let seed = start;
  const uniform = () => ((seed = (seed * 1103515245 + 12345) % 2147483648) + 0.5) / 2147483648;
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}
