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
  /** Weight of each cell for each step, and what the cells before it weigh together. */
  readonly #weights: Float64Array;
  readonly #before: Float64Array;
  #sigma = NaN;

  /**
   * @param from first step, @param to behind the last one; @param perStep fine cells a step; @param reach of the kernel to both sides, fine cells.
   */
  constructor(from: number, to: number, perStep: number, reach: number) {
    const steps = to - from;
    const width = 2 * reach + 2;
    this.#from = from;
    this.#steps = steps;
    this.#reach = reach;
    this.#width = width;
    this.#at = Int32Array.from({ length: steps }, (_, j) => Math.floor((from + j) * perStep));
    this.#between = Float64Array.from(this.#at, (a, j) => (from + j) * perStep - a);
    this.#kernel = new Float64Array(2 * reach + 1);
    this.#weights = new Float64Array(steps * width);
    this.#before = new Float64Array(steps * (width + 1));
  }

  /** Standard deviation, in fine cells. */
  widen(sigma: number): void {
    if (sigma === this.#sigma) return;
    this.#sigma = sigma;
    const kernel = this.#kernel;
    const weights = this.#weights;
    const before = this.#before;
    const between = this.#between;
    const reach = this.#reach;
    const width = this.#width;
    let total = 0;
    for (let i = -reach; i <= reach; i++) {
      const w = Math.exp(-0.5 * (i / sigma) ** 2);
      kernel[i + reach] = w;
      total += w;
    }
    for (let i = 0; i < kernel.length; i++) kernel[i]! /= total;
    for (let j = 0; j < this.#steps; j++) {
      const f = between[j]!;
      let sum = 0;
      for (let i = 0; i < width; i++) {
        const w = (i < kernel.length ? (1 - f) * kernel[i]! : 0) + (i > 0 ? f * kernel[i - 1]! : 0);
        weights[j * width + i] = w;
        before[j * (width + 1) + i] = sum;
        sum += w;
      }
      before[j * (width + 1) + width] = sum;
    }
  }

  /** Writes `height` times the blurred share at the steps it is for. */
  write(sharp: Float64Array, height: number, out: Float64Array): void {
    const weights = this.#weights;
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
      let sum = before[j * (width + 1) + first]!;
      for (let i = first, p = j * width + first; i < last; i++, p++) sum += weights[p]! * sharp[start + i]!;
      out[this.#from + j] = height * sum;
    }
  }
}
