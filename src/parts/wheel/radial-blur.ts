/**
 * Blurs a share of metal along the radius and reads it at the steps of the picture.
 *
 * Each step reads fine cells j perStep .. j perStep + 2 reach + 1, linear between cells: what is fitted must move the
 * blurred share smoothly. Cells of nothing but metal, and empty ones, are not summed one by one.
 */
export class RadialBlur {
  readonly #from: number;
  readonly #steps: number;
  readonly #reach: number;
  readonly #width: number;
  /** First fine cell of each step, and how far the step lies beyond it. */
  readonly #at: Int32Array;
  readonly #between: Float64Array;
  readonly #kernel: Float64Array;
  /** What the weights before each of the kernel are together. */
  readonly #before: Float64Array;
  #sigma = NaN;

  /**
   * @param from first step, @param to behind the last one; @param perStep fine cells a step; @param reach of the kernel to both sides, fine cells.
   */
  constructor(from: number, to: number, perStep: number, reach: number) {
    const steps = to - from;
    this.#from = from;
    this.#steps = steps;
    this.#reach = reach;
    this.#width = 2 * reach + 2;
    this.#at = Int32Array.from({ length: steps }, (_, j) => Math.floor((from + j) * perStep));
    this.#between = Float64Array.from(this.#at, (a, j) => (from + j) * perStep - a);
    // A zero behind the last weight: the window of a step holds one cell more.
    this.#kernel = new Float64Array(this.#width);
    this.#before = new Float64Array(this.#width + 1);
  }

  /** Standard deviation, in fine cells. */
  widen(sigma: number): void {
    if (sigma === this.#sigma) return;
    this.#sigma = sigma;
    const kernel = this.#kernel;
    const before = this.#before;
    const reach = this.#reach;
    let total = 0;
    for (let i = 0; i <= reach; i++) {
      const w = Math.exp(-0.5 * (i / sigma) ** 2);
      kernel[reach - i] = kernel[reach + i] = w;
      total += i === 0 ? w : 2 * w;
    }
    for (let i = 0; i < kernel.length; i++) {
      kernel[i]! /= total;
      before[i + 1] = before[i]! + kernel[i]!;
    }
  }

  /** Writes `height` times the blurred share at the steps it is for. */
  write(sharp: Float64Array, height: number, out: Float64Array): void {
    const before = this.#before;
    const width = this.#width;
    let full = 0;
    while (full < sharp.length && sharp[full] === 1) full++;
    let end = sharp.length;
    while (end > full && sharp[end - 1] === 0) end--;
    for (let j = 0; j < this.#steps; j++) {
      const start = this.#at[j]!;
      const first = Math.min(width, Math.max(0, full - start));
      const last = Math.min(width, end - start);
      const f = this.#between[j]!;
      const metal = (1 - f) * before[first]! + (first > 0 ? f * before[first - 1]! : 0);
      out[this.#from + j] = height * (metal + weighted(this.#kernel, f, sharp, start, first, last));
    }
  }
}

/** Of cells first..last - 1 of a window: the kernel where the step lies, a share f beyond a cell. */
function weighted(
  kernel: Float64Array,
  f: number,
  sharp: Float64Array,
  start: number,
  first: number,
  last: number,
): number {
  let here = 0;
  let next = 0;
  let before = first > 0 ? kernel[first - 1]! : 0;
  for (let i = first; i < last; i++) {
    const s = sharp[start + i]!;
    const w = kernel[i]!;
    here += w * s;
    next += before * s;
    before = w;
  }
  return (1 - f) * here + f * next;
}
