import { gaussianKernel, normalDistribution } from "../../fit/index.js";
import { codeFromLinear, linearFromSrgb } from "../linear-light.js";
import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import { jpegLuma } from "./jpeg-luma.js";

/** What lens and camera make of an edge, before colour is stored at half resolution. */
export interface Sharpness {
  /** Of the lens, the pixel's own square included: standard deviation, px. */
  readonly blurPx: number;
  /** Share of the difference from its neighbourhood that was added to the brightness of every pixel, code values. */
  readonly amount: number;
  /** Standard deviation of that neighbourhood, px. */
  readonly neighbourhoodPx: number;
}

const reachPx = 5;
const binPx = 0.25;
const bins = Math.round((2 * reachPx) / binPx);
/** Beyond this no halo is left. */
const plainPx = 3.5;
/** Cells along a side of a marker, border included, at the most. */
const cells = 8;
const fewestSides = 12;
const neighbourhoods = [1, 1.25, 1.5] as const;
const mostAmount = 1.3;

/**
 * Cameras sharpen: they add to each pixel a share of its difference from its neighbourhood. The outer edges of the
 * printed markers show it, since they are known to be plain steps from white to black. Done in code values, which is
 * why a blur alone, however wide, cannot stand for it. Bright paper leaves the halo no room: it is cut off at white.
 *
 * @returns the photograph's plain blur, where too little of the markers is seen or there is no mat.
 */
export function learnSharpness(photo: Photo, view: View): Sharpness {
  const plain: Sharpness = { blurPx: view.edge.blurSigmaPx, amount: 0, neighbourhoodPx: 1 };
  const edge = meanEdge(photo, view);
  if (edge === undefined) return plain;
  let [best, least] = [plain, Infinity];
  for (let blurPx = 0.35; blurPx < 1.6; blurPx *= 1.1)
    for (const neighbourhoodPx of neighbourhoods)
      for (let amount = 0; amount < mostAmount; amount += 0.125) {
        if (amount === 0 && neighbourhoodPx > neighbourhoods[0]) continue;
        const tried = { blurPx, amount, neighbourhoodPx };
        const misfit = misfitOf(edge, tried);
        if (misfit < least) [best, least] = [tried, misfit];
      }
  return best;
}

/** From black to white, shares of the step in code values; NaN where nothing was seen. */
interface MeanEdge {
  readonly share: Float64Array;
  readonly dark: number;
  readonly bright: number;
}

function meanEdge({ rgb, widthPx, heightPx }: Photo, { mat }: View): MeanEdge | undefined {
  const [sums, counts] = [new Float64Array(bins), new Float64Array(bins)];
  let [dark, bright, sides] = [0, 0, 0];
  const [own, n] = [new Float64Array(bins), new Float64Array(bins)];
  for (const { cornersPx } of mat?.markers ?? [])
    for (let s = 0; s < 4; s++) {
      const [p, q, r] = [cornersPx[s]!, cornersPx[(s + 1) % 4]!, cornersPx[(s + 2) % 4]!];
      const length = Math.hypot(q[0] - p[0], q[1] - p[1]);
      if (length < reachPx * cells * 1.15) continue;
      const [tx, ty] = [(q[0] - p[0]) / length, (q[1] - p[1]) / length];
      const side = Math.sign(tx * (r[1] - p[1]) - ty * (r[0] - p[0]));
      // Away from the marker.
      const [nx, ny] = [side * ty, -side * tx];
      own.fill(0);
      n.fill(0);
      for (let along = 0.15 * length; along < 0.85 * length; along += 1)
        for (let d = -reachPx; d <= reachPx; d += 0.9) {
          const u = Math.round(p[0] + along * tx + d * nx);
          const v = Math.round(p[1] + along * ty + d * ny);
          if (u < 0 || v < 0 || u >= widthPx || v >= heightPx) continue;
          const exact = (u - p[0]) * nx + (v - p[1]) * ny;
          const bin = Math.floor((exact + reachPx) / binPx);
          if (bin < 0 || bin >= bins) continue;
          const i = 3 * (v * widthPx + u);
          own[bin]! += jpegLuma(rgb[i]!, rgb[i + 1]!, rgb[i + 2]!);
          n[bin]!++;
        }
      const ends = Math.round((reachPx - plainPx) / binPx);
      const mean = (from: number, to: number): number => {
        let [sum, count] = [0, 0];
        for (let b = from; b < to; b++) [sum, count] = [sum + own[b]!, count + n[b]!];
        return sum / count;
      };
      const [low, high] = [mean(0, ends), mean(bins - ends, bins)];
      if (!(high - low > 60)) continue;
      sides++;
      dark += low;
      bright += high;
      for (let b = 0; b < bins; b++) {
        if (n[b] === 0) continue;
        sums[b]! += (own[b]! - n[b]! * low) / (high - low);
        counts[b]! += n[b]!;
      }
    }
  if (sides < fewestSides) return undefined;
  return { share: sums.map((v, b) => v / counts[b]!), dark: dark / sides, bright: bright / sides };
}

/** Steps of the line on which an edge is sharpened, px. */
const stepPx = 0.25;
const halfLine = 36;

function misfitOf({ share, dark, bright }: MeanEdge, { blurPx, amount, neighbourhoodPx }: Sharpness): number {
  const [low, high] = [linearFromSrgb[Math.round(dark)]!, linearFromSrgb[Math.round(bright)]!];
  const line = Float64Array.from({ length: 2 * halfLine + 1 }, (_, i) =>
    codeFromLinear(low + (high - low) * normalDistribution(((i - halfLine) * stepPx) / blurPx)),
  );
  const soft = amount === 0 ? line : blurred(line, neighbourhoodPx / stepPx);
  const curve = line.map((v, i) => {
    const code = Math.max(0, Math.min(255, v + amount * (v - soft[i]!)));
    return (code - dark) / (bright - dark);
  });
  let least = Infinity;
  // Corners are known to a fraction of a pixel.
  for (let off = -0.5; off <= 0.5; off += 0.0625) {
    let sum = 0;
    for (let b = 0; b < bins; b++) {
      if (Number.isNaN(share[b])) continue;
      const x = (-reachPx + (b + 0.5) * binPx - off) / stepPx + halfLine;
      const k = Math.max(0, Math.min(2 * halfLine - 1, Math.floor(x)));
      sum += (share[b]! - curve[k]! - (x - k) * (curve[k + 1]! - curve[k]!)) ** 2;
    }
    least = Math.min(least, sum);
  }
  return least;
}

/** By a Gaussian of that standard deviation, in samples; ends repeated. */
function blurred(values: Float64Array, sigma: number): Float64Array {
  const kernel = kernelOf(sigma);
  const reach = kernel.length >> 1;
  const last = values.length - 1;
  const out = new Float64Array(values.length);
  for (let i = 0; i <= last; i++) {
    let sum = 0;
    for (let j = -reach; j <= reach; j++)
      sum += kernel[j + reach]! * values[Math.max(0, Math.min(last, i + j))]!;
    out[i] = sum;
  }
  return out;
}

const kernels = new Map<number, Float64Array>();

/** Of the few widths that neighbourhoods have. */
function kernelOf(sigma: number): Float64Array {
  const known = kernels.get(sigma);
  if (known) return known;
  const kernel = gaussianKernel(sigma, Math.ceil(3 * sigma));
  kernels.set(sigma, kernel);
  return kernel;
}

const rounds = 6;

/**
 * Takes sharpening off a line of light, across an edge that is as good as straight.
 *
 * @param light linear, evenly spaced; changed in place. @param white light of code value 255, in its unit.
 * @param freeShare of each sample, how much of its brightness could still grow: a channel that is cut off has no halo.
 */
export function unsharpen(
  light: Float64Array,
  white: number,
  { amount, neighbourhoodPx }: Sharpness,
  samplePx: number,
  freeShare: Float64Array,
): void {
  if (amount === 0) return;
  const seen = light.map((v) => codeFromLinear(Math.max(0, v) / white));
  let plain: Float64Array = seen;
  // Taking a halo off is a blur: it settles.
  for (let round = 0; round < rounds; round++) {
    const soft = blurred(plain, neighbourhoodPx / samplePx);
    for (let i = 0; i < soft.length; i++) {
      const shown = amount * freeShare[i]!;
      soft[i] = (seen[i]! + shown * soft[i]!) / (1 + shown);
    }
    plain = soft;
  }
  for (let i = 0; i < light.length; i++) {
    const code = Math.max(0, Math.min(254.999, plain[i]!));
    const k = Math.floor(code);
    light[i] = white * (linearFromSrgb[k]! + (code - k) * (linearFromSrgb[k + 1]! - linearFromSrgb[k]!));
  }
}
