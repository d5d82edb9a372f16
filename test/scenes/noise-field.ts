import { random } from "./random.js";

/** Smooth random field, about -1..1, repeating every 256 units; feature size about one unit. */
export interface NoiseField {
  at(x: number, y: number): number;
  /** Three octaves. */
  cloud(x: number, y: number): number;
  /** White noise along one line, -1..1, smoothed over one unit. */
  along(x: number): number;
}

export function noiseField(seed: number): NoiseField {
  const rng = random(seed, "noise-field");
  const table = Float32Array.from({ length: 65536 }, () => 2 * rng.next() - 1);
  const at = (x: number, y: number): number => {
    const fx = Math.floor(x);
    const fy = Math.floor(y);
    let u = x - fx;
    let v = y - fy;
    u = u * u * (3 - 2 * u);
    v = v * v * (3 - 2 * v);
    const x0 = fx & 255;
    const x1 = (fx + 1) & 255;
    const y0 = (fy & 255) << 8;
    const y1 = ((fy + 1) & 255) << 8;
    const a = table[y0 + x0]!;
    const b = table[y0 + x1]!;
    const c = table[y1 + x0]!;
    const d = table[y1 + x1]!;
    return a + (b - a) * u + (c - a + (a - b - c + d) * u) * v;
  };
  return {
    at,
    cloud: (x, y) =>
      0.55 * at(x, y) + 0.3 * at(2.1 * x + 17, 2.1 * y + 5) + 0.15 * at(4.3 * x + 3, 4.3 * y + 41),
    along(x) {
      const fx = Math.floor(x);
      const u = x - fx;
      const a = table[fx & 65535]!;
      const b = table[(fx + 1) & 65535]!;
      return a + (b - a) * u;
    },
  };
}
