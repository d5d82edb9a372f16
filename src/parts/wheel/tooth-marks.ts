import { selectInPlace } from "../../fit/index.js";
import { placeInTurn, withinTurn } from "../../geometry/index.js";

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
  const high = slidingLargest(value, reach);
  const low = negative(slidingLargest(negative(value), reach));
  const swing = selectInPlace(difference(high, low), n >> 1);
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
          centreRad: withinTurn((2 * Math.PI * centre) / n),
          widthRad: (2 * Math.PI * (fall - rise)) / n,
          height,
        });
      rise = undefined;
    } else if (rise !== undefined) top = Math.max(top, now);
  }
  return marks.sort((p, q) => p.centreRad - q.centreRad);
}

function negative(values: Float64Array): Float64Array {
  const out = new Float64Array(values.length);
  for (let i = 0; i < out.length; i++) out[i] = -values[i]!;
  return out;
}

function difference(some: Float64Array, others: Float64Array): Float64Array {
  const out = new Float64Array(some.length);
  for (let i = 0; i < out.length; i++) out[i] = some[i]! - others[i]!;
  return out;
}

/** Largest within `reach` samples on both sides, round the turn. */
function slidingLargest(value: Float64Array, reach: number): Float64Array {
  const n = value.length;
  const width = Math.min(2 * reach + 1, n);
  // The turn cut into blocks of one window each: a window is the end of a block and the start of the next one.
  const blocks = Math.ceil((n + width - 1) / width);
  const length = blocks * width;
  const toEnd = new Float64Array(length);
  const fromStart = new Float64Array(length);
  const first = placeInTurn(-reach, n);
  for (let i = 0, at = first; i < length; i++) {
    fromStart[i] = toEnd[i] = value[at]!;
    if (++at === n) at = 0;
  }
  for (let i = 1; i < length; i++)
    if (i % width !== 0 && fromStart[i - 1]! > fromStart[i]!) fromStart[i] = fromStart[i - 1]!;
  for (let i = length - 2; i >= 0; i--)
    if ((i + 1) % width !== 0 && toEnd[i + 1]! > toEnd[i]!) toEnd[i] = toEnd[i + 1]!;
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const [a, b] = [toEnd[i]!, fromStart[i + width - 1]!];
    out[i] = a > b ? a : b;
  }
  return out;
}
