/** Blurs a share of metal along the radius and reads it at the steps of the picture. */
export interface RadialBlur {
  /** Standard deviation, in fine cells. */
  widen(sigma: number): void;
  /** Writes `height` times the blurred share at the steps it is for. */
  write(sharp: Float64Array, height: number, out: Float64Array): void;
}

/**
 * Each step reads fine cells j perStep .. j perStep + 2 reach + 1, linear between cells: what is fitted must move the
 * blurred share smoothly. Cells of nothing but metal, and empty ones, are not summed one by one.
 *
 * @param from first step, @param to behind the last one; @param perStep fine cells a step; @param reach of the kernel to both sides, fine cells.
 */
export function newRadialBlur(from: number, to: number, perStep: number, reach: number): RadialBlur {
  const width = 2 * reach + 2;
  const steps = to - from;
  const at = Int32Array.from({ length: steps }, (_, j) => Math.floor((from + j) * perStep));
  const between = Float64Array.from(at, (a, j) => (from + j) * perStep - a);
  const kernel = new Float64Array(2 * reach + 1);
  // Weight of each cell for each step, and what the cells before it weigh together.
  const weights = new Float64Array(steps * width);
  const before = new Float64Array(steps * (width + 1));
  let known = NaN;
  return {
    widen(sigma) {
      if (sigma === known) return;
      known = sigma;
      let total = 0;
      for (let i = -reach; i <= reach; i++) {
        const w = Math.exp(-0.5 * (i / sigma) ** 2);
        kernel[i + reach] = w;
        total += w;
      }
      for (let i = 0; i < kernel.length; i++) kernel[i]! /= total;
      for (let j = 0; j < steps; j++) {
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
    },
    write(sharp, height, out) {
      let full = 0;
      while (full < sharp.length && sharp[full] === 1) full++;
      let end = sharp.length;
      while (end > full && sharp[end - 1] === 0) end--;
      for (let j = 0; j < steps; j++) {
        const start = at[j]!;
        const first = Math.min(width, Math.max(0, full - start));
        const last = Math.min(width, end - start);
        let sum = before[j * (width + 1) + first]!;
        for (let i = first, p = j * width + first; i < last; i++, p++) sum += weights[p]! * sharp[start + i]!;
        out[from + j] = height * sum;
      }
    },
  };
}
