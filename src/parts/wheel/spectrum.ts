/** Squared amplitudes of the harmonics 0..highest of a periodic signal. Unseen samples count as the mean. */
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
  const cos = new Float64Array(n);
  const sin = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    cos[i] = Math.cos((2 * Math.PI * i) / n);
    sin[i] = Math.sin((2 * Math.PI * i) / n);
  }
  const power = new Float64Array(highest + 1);
  for (let k = 1; k <= highest; k++) {
    let re = 0;
    let im = 0;
    for (let i = 0, p = 0; i < n; i++) {
      if (seen[i]) {
        const s = value[i]! - mean;
        re += s * cos[p]!;
        im += s * sin[p]!;
      }
      p += k;
      if (p >= n) p -= n;
    }
    power[k] = (4 * (re * re + im * im)) / (n * n);
  }
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
