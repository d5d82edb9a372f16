/**
 * Discrete Fourier transform of a real signal, harmonics 0 .. n / 2: sum of value_i exp(-2 pi i k i / n).
 *
 * @param value of even length; quick where that is a power of two times a small odd number.
 * Source: J. W. Cooley, J. W. Tukey, 1965 (from memory); a real signal as half as many complex numbers.
 */
export function realFourier(value: Float64Array): { readonly re: Float64Array; readonly im: Float64Array } {
  const n = value.length;
  const half = n / 2;
  if (!Number.isInteger(half)) throw new RangeError(`length: expected an even number, received ${n}`);
  const packed = { re: new Float64Array(half), im: new Float64Array(half) };
  for (let i = 0; i < half; i++) {
    packed.re[i] = value[2 * i]!;
    packed.im[i] = value[2 * i + 1]!;
  }
  const { re: zr, im: zi } = complexFourier(packed.re, packed.im);
  const re = new Float64Array(half + 1);
  const im = new Float64Array(half + 1);
  const { cos, sin } = turnTable(n);
  for (let k = 0; k <= half; k++) {
    const a = k % half;
    const b = (half - k) % half;
    // Transforms of the even and of the odd samples, then the last butterfly.
    const [er, ei] = [0.5 * (zr[a]! + zr[b]!), 0.5 * (zi[a]! - zi[b]!)];
    const [or, oi] = [0.5 * (zi[a]! + zi[b]!), -0.5 * (zr[a]! - zr[b]!)];
    const c = cos[k]!;
    const s = sin[k]!;
    re[k] = er + c * or + s * oi;
    im[k] = ei + c * oi - s * or;
  }
  return { re, im };
}

interface Complex {
  readonly re: Float64Array;
  readonly im: Float64Array;
}

/** Halved until the length is odd; what is left is summed as it stands. */
function complexFourier(re: Float64Array, im: Float64Array): Complex {
  const n = re.length;
  let odd = n;
  while (odd % 2 === 0) odd /= 2;
  const parts = n / odd;
  const { cos, sin } = turnTable(n);
  let from: Complex = { re: new Float64Array(n), im: new Float64Array(n) };
  let to: Complex = { re: new Float64Array(n), im: new Float64Array(n) };
  // Part p holds the samples p, p + parts, p + 2 parts ...
  for (let p = 0; p < parts; p++)
    for (let k = 0; k < odd; k++) {
      let [sumRe, sumIm] = [0, 0];
      for (let i = 0; i < odd; i++) {
        const turn = ((i * k) % odd) * parts;
        const x = re[p + i * parts]!;
        const y = im[p + i * parts]!;
        sumRe += cos[turn]! * x + sin[turn]! * y;
        sumIm += cos[turn]! * y - sin[turn]! * x;
      }
      from.re[p * odd + k] = sumRe;
      from.im[p * odd + k] = sumIm;
    }
  for (let count = parts, size = odd; count > 1; count /= 2, size *= 2) {
    const rest = count / 2;
    for (let p = 0; p < rest; p++) {
      const a = p * size;
      const b = (p + rest) * size;
      const out = p * 2 * size;
      for (let k = 0; k < size; k++) {
        const c = cos[k * rest]!;
        const s = sin[k * rest]!;
        const x = c * from.re[b + k]! + s * from.im[b + k]!;
        const y = c * from.im[b + k]! - s * from.re[b + k]!;
        to.re[out + k] = from.re[a + k]! + x;
        to.im[out + k] = from.im[a + k]! + y;
        to.re[out + size + k] = from.re[a + k]! - x;
        to.im[out + size + k] = from.im[a + k]! - y;
      }
    }
    [from, to] = [to, from];
  }
  return from;
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
