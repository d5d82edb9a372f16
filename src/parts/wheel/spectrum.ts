import { realFourier } from "./fourier.js";

/** Squared amplitudes of the harmonics 0..highest, at most n / 2, of a periodic signal. Unseen samples count as the mean. */
export function spectrumOf(value: Float64Array, seen: Uint8Array, highest: number): Float64Array {
  const n = value.length;
  let mean = 0;
  let count = 0;
  for (let i = 0; i < n; i++)
    if (seen[i]) {
      mean += value[i]!;
      count++;
    }
  mean /= Math.max(1, count);
  const { re, im } = realFourier(value.map((v, i) => (seen[i] ? v - mean : 0)));
  const power = new Float64Array(highest + 1);
  for (let k = 1; k <= highest; k++) power[k] = (4 * (re[k]! ** 2 + im[k]! ** 2)) / (n * n);
  return power;
}

/** The strongest `most` local peaks at or above `lowest`, strongest first. */
export function peaksOf(power: Float64Array, lowest: number, most: number): number[] {
  const peaks: number[] = [];
  for (let k = lowest; k < power.length; k++) {
    if (power[k]! >= (power[k - 1] ?? 0) && power[k]! >= (power[k + 1] ?? 0)) peaks.push(k);
  }
  return peaks.sort((a, b) => power[b]! - power[a]!).slice(0, most);
}
