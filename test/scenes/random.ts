/** Seeded random numbers for scenes. Streams with different names are independent of each other. */
export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  uniform(from: number, to: number): number;
  /** Whole number, both ends included. */
  whole(from: number, to: number): number;
  normal(sigma?: number): number;
  chance(probability: number): boolean;
  pick<T>(items: readonly T[]): T;
  /** A new stream that depends on this seed and `name` only. */
  stream(name: string): Random;
}

/** Sfc32, seeded from a number and a name (FNV-1a). */
export function random(seed: number, name = ""): Random {
  let a = hash(name, seed >>> 0);
  let b = hash(name + "/b", a);
  let c = hash(name + "/c", b);
  let counter = 1;
  const word = (): number => {
    const t = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (c << 21) | (c >>> 11);
    c = (c + t) | 0;
    return t >>> 0;
  };
  for (let i = 0; i < 12; i++) word();
  const next = () => word() / 4294967296;
  return {
    next,
    uniform: (from, to) => from + (to - from) * next(),
    whole: (from, to) => from + Math.floor(next() * (to - from + 1)),
    normal: (sigma = 1) => sigma * Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
    chance: (probability) => next() < probability,
    pick: (items) => items[Math.floor(next() * items.length)]!,
    stream: (child) => random(seed, `${name}/${child}`),
  };
}

function hash(text: string, start: number): number {
  let h = (2166136261 ^ start) >>> 0;
  for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 16777619);
  h = Math.imul(h ^ (h >>> 15), 0x2c1b3c6d);
  h = Math.imul(h ^ (h >>> 12), 0x297a2d39);
  return (h ^ (h >>> 15)) >>> 0;
}
