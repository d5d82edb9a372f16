/** A tooth seen in the rim signal: where it rises and falls through half height, rad, counter-clockwise. */
export interface ToothMark {
  readonly centreRad: number;
  readonly widthRad: number;
  /** Greatest height over the local spaces, in units of the contrast. */
  readonly height: number;
}

/**
 * Teeth one by one: the signal crosses its local middle upwards, then downwards. The middle follows the signal
 * over about two pitches, so that uneven light does not swallow teeth.
 */
export function findToothMarks(value: Float64Array, seen: Uint8Array, pitchSamples: number): ToothMark[] {
  const n = value.length;
  const reach = Math.max(2, Math.round(1.1 * pitchSamples));
  const low = slidingExtreme(value, reach, Math.min);
  const high = slidingExtreme(value, reach, Math.max);
  const swing = medianOf(Float64Array.from(high, (h, i) => h - low[i]!));
  const marks: ToothMark[] = [];
  let rise: number | undefined;
  let top = -Infinity;
  // Two turns, so that a tooth across the seam is whole; only teeth centred in the first turn are kept.
  for (let k = 1; k < 2 * n; k++) {
    const i = k % n;
    const h = (k - 1) % n;
    // Where the swing is small there is no tooth and no space: a middle of the whole signal would do no better.
    const weak = high[i]! - low[i]! < 0.35 * swing;
    const middle = 0.5 * (low[i]! + high[i]!);
    const before = value[h]! - middle;
    const now = value[i]! - middle;
    if (!seen[i] || weak) {
      rise = undefined;
      continue;
    }
    if (before < 0 && now >= 0) {
      rise = k - now / (now - before);
      top = now;
    } else if (before >= 0 && now < 0 && rise !== undefined) {
      const fall = k - now / (now - before);
      const centre = 0.5 * (rise + fall);
      const height = top / Math.max(1e-9, 0.5 * swing);
      if (centre >= 0.5 * pitchSamples && centre < n + 0.5 * pitchSamples && height > 0.35)
        marks.push({
          centreRad: ((2 * Math.PI * centre) / n) % (2 * Math.PI),
          widthRad: (2 * Math.PI * (fall - rise)) / n,
          height,
        });
      rise = undefined;
    } else if (rise !== undefined) top = Math.max(top, now);
  }
  return marks.sort((p, q) => p.centreRad - q.centreRad);
}

/** Smallest or largest within `reach` samples on both sides, round the turn. */
function slidingExtreme(
  value: Float64Array,
  reach: number,
  pick: (a: number, b: number) => number,
): Float64Array {
  // Doubling windows: log2(width) passes instead of width comparisons a sample.
  const n = value.length;
  const width = Math.min(2 * reach + 1, n);
  let current = Float64Array.from(value);
  let span = 1;
  while (2 * span <= width) {
    const next = new Float64Array(n);
    for (let i = 0; i < n; i++) next[i] = pick(current[i]!, current[(i + span) % n]!);
    current = next;
    span *= 2;
  }
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const start = (i - reach + n) % n;
    out[i] = pick(current[start]!, current[(start + width - span + n) % n]!);
  }
  return out;
}

const medianOf = (v: Float64Array): number => v.slice().sort()[v.length >> 1]!;
