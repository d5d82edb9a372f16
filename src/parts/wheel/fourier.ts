/**
 * Discrete Fourier transform of a real signal, harmonics 0 .. n / 2: sum of value_i exp(-2 pi i k i / n).
 *
 * @param value of even length; quick where that is a power of two times a small odd number.
 * Source: J. W. Cooley, J. W. Tukey, 1965 (from memory); a real signal as half as many complex numbers.
 */
export function realFourier(value: Float64Array): { readonly re: Float64Array; readonly im: Float64Array } {
  const half = value.length / 2;
  if (!Number.isInteger(half))
    throw new RangeError(`length: expected an even number, received ${value.length}`);
  const re = new Float64Array(half + 1);
  const im = new Float64Array(half + 1);
  realFourierInto(value, re, im);
  return { re, im };
}

/** The same into arrays of half the length of `value`, and one more. */
export function realFourierInto(value: Float64Array, re: Float64Array, im: Float64Array): void {
  const n = value.length;
  const half = n / 2;
  const { ar, ai, br, bi } = roomFor(half);
  for (let i = 0; i < half; i++) {
    ar[i] = value[2 * i]!;
    ai[i] = value[2 * i + 1]!;
  }
  const isInA = complexFourier(ar, ai, br, bi);
  const zr = isInA ? ar : br;
  const zi = isInA ? ai : bi;
  const { cos, sin } = turnTable(n);
  for (let k = 0; k <= half; k++) {
    const a = k === half ? 0 : k;
    const b = k === 0 || k === half ? 0 : half - k;
    // Transforms of the even and of the odd samples, then the last butterfly.
    const er = 0.5 * (zr[a]! + zr[b]!);
    const ei = 0.5 * (zi[a]! - zi[b]!);
    const or = 0.5 * (zi[a]! + zi[b]!);
    const oi = -0.5 * (zr[a]! - zr[b]!);
    const c = cos[k]!;
    const s = sin[k]!;
    re[k] = er + c * or + s * oi;
    im[k] = ei + c * oi - s * or;
  }
}

/** Two complex signals to and fro between which a transform goes. */
interface Room {
  readonly ar: Float64Array;
  readonly ai: Float64Array;
  readonly br: Float64Array;
  readonly bi: Float64Array;
}

const rooms = new Map<number, Room>();

function roomFor(n: number): Room {
  const known = rooms.get(n);
  if (known !== undefined) return known;
  const array = (): Float64Array => new Float64Array(n);
  const room = { ar: array(), ai: array(), br: array(), bi: array() };
  if (rooms.size >= mostTables) rooms.clear();
  rooms.set(n, room);
  return room;
}

/**
 * Halved until the length is odd; what is left is summed as it stands. Goes from a to b and back, over and over.
 *
 * @returns whether the result stands in a.
 */
function complexFourier(ar: Float64Array, ai: Float64Array, br: Float64Array, bi: Float64Array): boolean {
  const n = ar.length;
  let odd = n;
  while (odd % 2 === 0) odd /= 2;
  const parts = n / odd;
  const { cos, sin } = turnTable(n);
  let isInA = true;
  if (odd > 1) {
    // Part p holds the samples p, p + parts, p + 2 parts ...
    for (let p = 0; p < parts; p++)
      for (let k = 0; k < odd; k++) {
        let sumRe = 0;
        let sumIm = 0;
        for (let i = 0; i < odd; i++) {
          const turn = ((i * k) % odd) * parts;
          const x = ar[p + i * parts]!;
          const y = ai[p + i * parts]!;
          sumRe += cos[turn]! * x + sin[turn]! * y;
          sumIm += cos[turn]! * y - sin[turn]! * x;
        }
        br[p * odd + k] = sumRe;
        bi[p * odd + k] = sumIm;
      }
    isInA = false;
  }
  for (let count = parts, size = odd; count > 1; count /= 2, size *= 2) {
    if (isInA) butterflies(ar, ai, br, bi, cos, sin, count / 2, size);
    else butterflies(br, bi, ar, ai, cos, sin, count / 2, size);
    isInA = !isInA;
  }
  return isInA;
}

function butterflies(
  fromRe: Float64Array,
  fromIm: Float64Array,
  toRe: Float64Array,
  toIm: Float64Array,
  cos: Float64Array,
  sin: Float64Array,
  rest: number,
  size: number,
): void {
  // The longer of both loops inside.
  if (size < rest) {
    const apart = rest * size;
    for (let k = 0; k < size; k++) {
      const c = cos[k * rest]!;
      const s = sin[k * rest]!;
      for (let a = k, out = k; a < apart; a += size, out += 2 * size) {
        const re = fromRe[a + apart]!;
        const im = fromIm[a + apart]!;
        const x = c * re + s * im;
        const y = c * im - s * re;
        toRe[out] = fromRe[a]! + x;
        toIm[out] = fromIm[a]! + y;
        toRe[out + size] = fromRe[a]! - x;
        toIm[out + size] = fromIm[a]! - y;
      }
    }
    return;
  }
  for (let p = 0; p < rest; p++) {
    const a = p * size;
    const b = (p + rest) * size;
    const out = p * 2 * size;
    for (let k = 0; k < size; k++) {
      const c = cos[k * rest]!;
      const s = sin[k * rest]!;
      const re = fromRe[b + k]!;
      const im = fromIm[b + k]!;
      const x = c * re + s * im;
      const y = c * im - s * re;
      toRe[out + k] = fromRe[a + k]! + x;
      toIm[out + k] = fromIm[a + k]! + y;
      toRe[out + size + k] = fromRe[a + k]! - x;
      toIm[out + size + k] = fromIm[a + k]! - y;
    }
  }
}

interface TurnTable {
  readonly cos: Float64Array;
  readonly sin: Float64Array;
}

const tables = new Map<number, TurnTable>();
/** Signals come in a few lengths only; more are no reason to fill the memory. */
const mostTables = 16;

/** Cosine and sine of 2 pi i / n. */
export function turnTable(n: number): TurnTable {
  const known = tables.get(n);
  if (known !== undefined) return known;
  const turn = Float64Array.from({ length: n }, (_, i) => (2 * Math.PI * i) / n);
  const table = { cos: turn.map(Math.cos), sin: turn.map(Math.sin) };
  if (tables.size >= mostTables) tables.clear();
  tables.set(n, table);
  return table;
}
