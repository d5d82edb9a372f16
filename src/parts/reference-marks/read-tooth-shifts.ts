import { choleskyFactor, choleskySolve, medianOf } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import type { Contrast } from "../contrast.js";
import { pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import { unroll, type Unrolled } from "../unroll.js";
import type { ToothShift } from "./wheel-marks.js";

/** Samples to a pixel, along and across: finer ones say nothing new. */
const samplesPerPx = 1.5;
const mostPerTooth = 64;
const rounds = 3;
/** A tooth that fits the mean tooth so much worse than others is broken, bent or covered. */
const misfit = 3;

/**
 * Lays the mean tooth over every single one by least squares: out, along, brightness and contrast at once. All edges
 * of a tooth have their say, so that noise moves it far less than a tip and two flanks found one by one.
 *
 * @param phaseRad angle of the middle of a tooth.
 */
export function readToothShifts(
  photo: Photo,
  contrast: Contrast,
  face: FacePlane,
  toothCount: number,
  rootMm: number,
  tipMm: number,
  phaseRad: number,
): ToothShift[] {
  const depth = tipMm - rootMm;
  const stepMm = 1 / (samplesPerPx * pxPerMmOnFace(face));
  const pitchMm = (2 * Math.PI * tipMm) / toothCount;
  const width = Math.min(mostPerTooth, Math.max(8, Math.round(pitchMm / stepMm)));
  const start = phaseRad - Math.PI / toothCount;
  const reach = 0.35 * depth;
  const ring = unroll(
    photo,
    contrast,
    face,
    rootMm - reach,
    tipMm + reach,
    stepMm,
    toothCount * width,
    start,
  );
  const shifts = new Float64Array(2 * toothCount);
  let fits: Fit[] = [];
  for (let round = 0; round < rounds; round++) {
    const good = fits.length === 0 ? undefined : goodFits(fits);
    const mean = meanTooth(ring, toothCount, width, shifts, good);
    fits = Array.from({ length: toothCount }, (_, k) => fitTooth(ring, k, width, mean, shifts));
    fits.forEach((f, k) => {
      if (!f.seen) return;
      shifts[2 * k] = f.out;
      shifts[2 * k + 1] = f.along;
    });
  }
  const good = goodFits(fits);
  return fits.flatMap((f, k): ToothShift[] => {
    if (!good[k]) return [];
    const angleRad = phaseRad + (2 * Math.PI * k) / toothCount;
    return [
      {
        angleRad,
        outMm: f.out * ring.stepMm,
        alongMm: (f.along * 2 * Math.PI * (tipMm - 0.5 * depth)) / (toothCount * width),
      },
    ];
  });
}

interface Fit {
  /** In samples. */
  readonly out: number;
  readonly along: number;
  readonly misfit: number;
  readonly seen: boolean;
}

function goodFits(fits: readonly Fit[]): boolean[] {
  const typical = medianOf(fits.filter((f) => f.seen).map((f) => f.misfit));
  return fits.map((f) => f.seen && f.misfit <= misfit * typical && Math.hypot(f.out, f.along) < 4);
}

/** Mean of all good teeth, each laid back by its own shift. */
function meanTooth(
  ring: Unrolled,
  toothCount: number,
  width: number,
  shifts: Float64Array,
  good: readonly boolean[] | undefined,
): Float64Array {
  const { radii } = ring;
  const sum = new Float64Array(width * radii);
  const count = new Float64Array(width * radii);
  for (let k = 0; k < toothCount; k++) {
    if (good !== undefined && !good[k]) continue;
    for (let i = 0; i < width; i++) {
      for (let j = 0; j < radii; j++) {
        const v = valueAt(ring, k * width + i + shifts[2 * k + 1]!, j + shifts[2 * k]!);
        if (Number.isNaN(v)) continue;
        sum[i * radii + j]! += v;
        count[i * radii + j]!++;
      }
    }
  }
  return sum.map((s, p) => (count[p]! > 0 ? s / count[p]! : NaN));
}

function fitTooth(ring: Unrolled, k: number, width: number, mean: Float64Array, shifts: Float64Array): Fit {
  const { radii } = ring;
  const n = 4;
  const a = new Float64Array(n * n);
  const b = new Float64Array(n);
  const row = new Float64Array(n);
  let used = 0;
  let squares = 0;
  for (let i = 0; i < width; i++) {
    // The next tooth's foot is part of this one's surroundings.
    const before = ((i + width - 1) % width) * radii;
    const after = ((i + 1) % width) * radii;
    for (let j = 1; j < radii - 1; j++) {
      const m = mean[i * radii + j]!;
      const v = valueAt(ring, k * width + i + shifts[2 * k + 1]!, j + shifts[2 * k]!);
      const dOut = (mean[i * radii + j + 1]! - mean[i * radii + j - 1]!) / 2;
      const dAlong = (mean[after + j]! - mean[before + j]!) / 2;
      if (Number.isNaN(v + m + dOut + dAlong)) continue;
      used++;
      row[0] = -dOut;
      row[1] = -dAlong;
      row[2] = 1;
      row[3] = m;
      const d = v - m;
      squares += d * d;
      for (let p = 0; p < n; p++) {
        b[p]! += row[p]! * d;
        for (let q = 0; q <= p; q++) a[p * n + q]! += row[p]! * row[q]!;
      }
    }
  }
  const none: Fit = { out: 0, along: 0, misfit: Infinity, seen: false };
  if (used < 0.8 * width * (radii - 2)) return none;
  const factor = choleskyFactor(a, n);
  if (factor === undefined) return none;
  const x = Float64Array.from(b);
  choleskySolve(factor, n, x);
  const left = squares - x.reduce((s, v, p) => s + v * b[p]!, 0);
  return {
    out: shifts[2 * k]! + x[0]!,
    along: shifts[2 * k + 1]! + x[1]!,
    misfit: Math.sqrt(Math.max(0, left) / used),
    seen: true,
  };
}

/** Bilinear; round the turn it goes on from the beginning. */
function valueAt({ data, angles, radii }: Unrolled, angle: number, radius: number): number {
  const j = Math.floor(radius);
  if (j < 0 || j >= radii - 1) return NaN;
  const i = Math.floor(angle);
  const fi = angle - i;
  const fj = radius - j;
  const p = (((i % angles) + angles) % angles) * radii + j;
  const q = ((((i + 1) % angles) + angles) % angles) * radii + j;
  const low = data[p]! + fj * (data[p + 1]! - data[p]!);
  const high = data[q]! + fj * (data[q + 1]! - data[q]!);
  return low + fi * (high - low);
}
