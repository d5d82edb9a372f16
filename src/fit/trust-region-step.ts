import type { SingularValues } from "./singular-values.js";

/**
 * Step q that minimises ||R q + b||² within the ball ||q|| <= radius, from R = U diag(sigma) Vᵀ. On the ball's edge
 * (to 10 %) it is the step with damping lambda: ||R q + b||² + lambda ||q||² least.
 *
 * @param b length n or more; only the first n elements are read.
 * @param damping lambda of the last step, as a start.
 * @param out length n; receives q.
 * @returns lambda; 0 when the undamped step fits.
 * Source: J. J. Moré, 1978 (from memory): safeguarded Newton on 1/||q|| = 1/radius.
 */
export function stepWithin(
  { u, sigma, v }: SingularValues,
  b: Float64Array,
  n: number,
  radius: number,
  damping: number,
  out: Float64Array,
): number {
  const projected = new Float64Array(n);
  let largest = 0;
  for (let k = 0; k < n; k++) {
    let dot = 0;
    for (let i = 0; i < n; i++) dot += u[k * n + i]! * b[i]!;
    projected[k] = dot;
    largest = Math.max(largest, sigma[k]!);
  }
  const floor = n * Number.EPSILON * largest;
  const lengthAt = (lambda: number): number => {
    let sum = 0;
    for (let k = 0; k < n; k++) sum += componentAt(k, lambda) ** 2;
    return Math.sqrt(sum);
  };
  const componentAt = (k: number, lambda: number): number => {
    const s = sigma[k]!;
    // Directions without effect on the residuals are left alone.
    return s <= floor ? 0 : (s * projected[k]!) / (s * s + lambda);
  };

  let lambda = 0;
  let length = lengthAt(0);
  if (length > 1.1 * radius) {
    let low = 0;
    let high = 0;
    for (let k = 0; k < n; k++) high = Math.hypot(high, sigma[k]! * projected[k]!);
    high /= radius;
    lambda = damping > 0 && damping < high ? damping : 0.001 * high;
    for (let i = 0; i < 40; i++) {
      length = lengthAt(lambda);
      if (Math.abs(length - radius) <= 0.1 * radius) break;
      if (length > radius) low = lambda;
      else high = lambda;
      let slope = 0; // -d length / d lambda, times length
      for (let k = 0; k < n; k++) {
        const s = sigma[k]!;
        if (s > floor) slope += componentAt(k, lambda) ** 2 / (s * s + lambda);
      }
      const next = lambda + ((length - radius) / radius) * (length ** 2 / slope);
      lambda = next > low && next < high ? next : Math.max(0.001 * high, Math.sqrt(low * high));
    }
  }
  out.fill(0, 0, n);
  for (let k = 0; k < n; k++) {
    const component = -componentAt(k, lambda);
    for (let i = 0; i < n; i++) out[i]! += v[k * n + i]! * component;
  }
  return lambda;
}
