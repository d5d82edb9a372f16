/** A repeatable source of random numbers. */
export interface SeededRandom {
  /** Even in [0, 1), 53 bits. */
  uniform(): number;
  /** Normal, mean 0, standard deviation 1. */
  normal(): number;
}

/**
 * Uniform and normal numbers from a seed.
 *
 * @param seed any whole number; its low 32 bits count (spread over the state by splitmix32).
 */
export function seededRandom(seed: number): SeededRandom {
  let mixed = seed >>> 0;
  const mix = (): number => {
    mixed = (mixed + 0x9e3779b9) >>> 0;
    let z = mixed;
    z = Math.imul(z ^ (z >>> 16), 0x21f0aaad);
    z = Math.imul(z ^ (z >>> 15), 0x735a2d97);
    return (z ^ (z >>> 15)) >>> 0;
  };
  const next = xoshiro128([mix(), mix(), mix(), mix()]);
  const uniform = (): number => (next() * 2 ** 21 + (next() >>> 11)) / 2 ** 53;
  let spare: number | undefined;
  const normal = (): number => {
    if (spare !== undefined) {
      const value = spare;
      spare = undefined;
      return value;
    }
    // Marsaglia's polar method: two at a time.
    for (;;) {
      const x = 2 * uniform() - 1;
      const y = 2 * uniform() - 1;
      const s = x * x + y * y;
      if (s >= 1 || s === 0) continue;
      const factor = Math.sqrt((-2 * Math.log(s)) / s);
      spare = y * factor;
      return x * factor;
    }
  };
  return { uniform, normal };
}

/** Generator xoshiro128** of D. Blackman and S. Vigna (public domain): whole numbers of 32 bits. */
export function xoshiro128(state: readonly [number, number, number, number]): () => number {
  let [a, b, c, d] = state;
  return () => {
    const turned = Math.imul(b, 5);
    const result = Math.imul((turned << 7) | (turned >>> 25), 9) >>> 0;
    const shifted = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= shifted;
    d = (d << 11) | (d >>> 21);
    return result;
  };
}
