import { selectInPlace } from "../../fit/index.js";
import { pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { Contrast } from "../contrast.js";
import type { Photo } from "../../photo/index.js";
import { unroll } from "../unroll.js";
import type { Rim } from "./find-rim.js";
import type { ToothCount } from "./count-teeth.js";

/** The rim cut into one window a tooth place, each one pitch wide, and what was read there. */
export interface ToothPlaces {
  readonly face: FacePlane;
  readonly count: number;
  readonly pitchRad: number;
  /** Nominal angle of each place, rad. */
  readonly angleRad: Float64Array;
  /** Tooth minus place along the arc, in pitches: whole tooth, its outer half, its inner half. NaN if unseen. */
  readonly offset: Float64Array;
  readonly offsetOuter: Float64Array;
  readonly offsetInner: Float64Array;
  /** Radius at which the tooth has narrowed to a fixed share of its width; only differences count. NaN if none. */
  readonly tipMarkMm: Float64Array;
  /** Share of the pitch that is metal half way up. */
  readonly body: Float64Array;
  readonly seen: Uint8Array;
  /** Share of the pitch covered by metal against radius: place k, radius j at coverage[k * radii + j]. */
  readonly coverage: Float32Array;
  readonly radii: number;
  readonly fromRadiusMm: number;
  readonly stepMm: number;
  /** The rim ray by ray, perPlace rays a place and `radii` values a ray: signal, and what is metal and what open sheet. */
  readonly rays: Float32Array;
  readonly perPlace: number;
  readonly metal: Float64Array;
  readonly around: Float64Array;
  /** Just outside the columns that are nothing but metal. */
  readonly metalTo: number;
  /** Mean tooth cut along the arc below the pitch circle: height against position across the place. */
  readonly section: Float64Array;
  readonly sectionStepMm: number;
  /** Median over the places of the mean body. */
  readonly typicalBody: number;
  readonly tipMm: number;
  readonly rootMm: number;
}

/** Levels are read over this much of the radius, px. */
const levelPx = 2.5;
/**
 * Standard deviations of the blur from where the rim seems to end to where little of the teeth is left. Outside not
 * more: the sheet lies in the wheel's own shade there, and against the open sheet beyond it tips look too long.
 */
const clearInside = 2.8;
const clearOutside = 1.7;
/** As bright as the brightest block, and nearer to the teeth. */
const fullLevel = 0.98;

/** @param blurPx standard deviation of the blur of the signal, lens and stored colour together. */
export function readToothPlaces(
  photo: Photo,
  contrast: Contrast,
  rim: Rim,
  count: ToothCount,
  blurPx = 0.8,
): ToothPlaces {
  const n = count.count;
  const pxPerMm = pxPerMmOnFace(rim.face);
  const pitchRad = (2 * Math.PI) / n;
  const pitchPx = pitchRad * rim.tipMm * pxPerMm;
  const perPlace = Math.min(64, Math.max(12, Math.ceil(pitchPx / 0.6)));
  const px = 1 / pxPerMm;
  const depth = Math.max(rim.tipMm - rim.rootMm, 2 * px);
  const clearInsidePx = Math.max(1.5, clearInside * blurPx);
  const clearOutsidePx = Math.max(2.5, clearOutside * blurPx);
  const insideMm = Math.max((clearInsidePx + levelPx) * px, 0.3 * depth);
  const outsideMm = Math.max((clearOutsidePx + levelPx) * px, 0.25 * depth);
  const stepMm = 0.5 * px;
  const ring = unroll(
    photo,
    contrast,
    rim.face,
    Math.max(0.2 * rim.tipMm, rim.rootMm - insideMm),
    rim.tipMm + outsideMm,
    stepMm,
    n * perPlace,
    count.phaseRad - pitchRad / 2,
  );
  const { radii, data, fromRadiusMm } = ring;
  const column = (r: number): number =>
    Math.min(radii - 1, Math.max(0, Math.round((r - fromRadiusMm) / stepMm)));
  const outerFrom = Math.min(radii - 3, column(rim.tipMm + clearOutsidePx * px));

  const outer = new Float64Array(n);
  const scratch = new Float64Array(perPlace * radii);
  writeLevels(data, radii, perPlace, outerFrom, radii, scratch, outer);
  // Just inside the root where that is all metal; further in where blur lets the spaces reach in.
  const ends: number[] = [];
  for (let back = 1.5; back <= clearInsidePx + 0.01; back += 0.5)
    ends.push(Math.max(2, column(rim.rootMm - back * px)));
  const levels = ends.map((end) => {
    const level = new Float64Array(n);
    writeLevels(data, radii, perPlace, Math.max(0, end - 5), end, scratch, level);
    return level;
  });
  const heights = levels.map((level) => upperMedian([...level].filter((v) => !Number.isNaN(v))));
  const highest = Math.max(...heights.filter((h) => !Number.isNaN(h)));
  const full = Math.max(
    0,
    heights.findIndex((h) => h >= fullLevel * highest),
  );
  const inner = levels[full]!;
  const metal = medianOfNeighbours(inner);
  const around = medianOfNeighbours(outer);

  const middle = column(rim.rootMm + 0.5 * depth);
  const low = column(rim.rootMm + 0.2 * depth);
  const high = Math.max(low + 1, column(rim.tipMm - 0.15 * depth));
  const cut = cutPlaces({ data, n, perPlace, radii, metal, around, outer, low, middle, high });
  const { coverage, section, seen } = cut;
  const body = bodiesOf(cut, n, radii, low, high);
  const typicalBody = upperMedian([...body].filter((b) => !Number.isNaN(b)));
  const marks = tipMarksOf(cut, n, radii, low, middle);
  const tipMarkMm = marks.map((mark) => fromRadiusMm + mark * stepMm);
  return {
    face: rim.face,
    count: n,
    pitchRad,
    angleRad: Float64Array.from({ length: n }, (_, k) => count.phaseRad + k * pitchRad),
    offset: cut.whole,
    offsetOuter: cut.outer,
    offsetInner: cut.inner,
    tipMarkMm,
    body,
    seen,
    coverage,
    rays: data,
    perPlace,
    metal,
    around,
    metalTo: ends[full]!,
    section: section.map((v) => v / Math.max(1, seen.reduce((a, b) => a + b, 0) * (middle - low + 1))),
    sectionStepMm: (pitchRad * (rim.rootMm + 0.35 * depth)) / perPlace,
    radii,
    fromRadiusMm,
    stepMm,
    typicalBody,
    tipMm: rim.tipMm,
    rootMm: rim.rootMm,
  };
}

/** The unrolled rim, ray by ray, and the levels of each place. */
interface RimToCut {
  readonly data: Float32Array;
  readonly n: number;
  readonly perPlace: number;
  readonly radii: number;
  readonly metal: Float64Array;
  readonly around: Float64Array;
  readonly outer: Float64Array;
  /** Columns of the teeth. */
  readonly low: number;
  readonly middle: number;
  readonly high: number;
}

interface CutRim {
  readonly coverage: Float32Array;
  readonly section: Float64Array;
  readonly seen: Uint8Array;
  /** Offsets of whole teeth, outer and inner halves. */
  readonly whole: Float64Array;
  readonly outer: Float64Array;
  readonly inner: Float64Array;
}

// Each loop over the rim is a function of its own: together they were compiled for a second, over and over.

function cutPlaces(rim: RimToCut): CutRim {
  const { data, n, perPlace, radii, metal, around, outer, low, middle, high } = rim;
  const coverage = new Float32Array(n * radii);
  const section = new Float64Array(perPlace);
  const cuts = new Float64Array(perPlace);
  const seen = new Uint8Array(n);
  const phase = { whole: new Float64Array(n), outer: new Float64Array(n), inner: new Float64Array(n) };
  const turn = Float64Array.from(
    { length: perPlace },
    (_, i) => (2 * Math.PI * (i - perPlace / 2)) / perPlace,
  );
  const cos = turn.map(Math.cos);
  const sin = turn.map(Math.sin);
  const total = new Float64Array(radii);
  const re = new Float64Array(radii);
  const im = new Float64Array(radii);
  for (let k = 0; k < n; k++) {
    const level = metal[k]! - around[k]!;
    // Brass in shade still differs; below a third of the usual contrast a space is not told from a tooth.
    seen[k] = level > 0.35 && Math.abs(outer[k]! - around[k]!) < 0.4 && outer[k]! < 0.45 ? 1 : 0;
    if (!seen[k]) continue;
    total.fill(0);
    re.fill(0);
    im.fill(0);
    for (let i = 0; i < perPlace; i++) {
      const at = (k * perPlace + i) * radii;
      addRay(data, at, around[k]!, 1 / level, cos[i]!, sin[i]!, total, re, im);
      cuts[i] = cutThrough(data, at + low, at + middle, around[k]!, 1 / level);
    }
    // Part of the place lies outside the picture.
    if (hasNaN(total)) {
      seen[k] = 0;
      continue;
    }
    for (let i = 0; i < perPlace; i++) section[i]! += cuts[i]!;
    for (let j = 0; j < radii; j++) coverage[k * radii + j] = total[j]! / perPlace;
    const rows = perPlace * (high - low + 1);
    phase.whole[k] = offsetOf(re, im, low, high, 0.03 * rows);
    phase.outer[k] = offsetOf(re, im, Math.max(low, middle + 1), high, 0.012 * rows);
    phase.inner[k] = offsetOf(re, im, low, Math.min(middle, high), 0.012 * rows);
  }
  for (let k = 0; k < n; k++) if (!seen[k]) phase.whole[k] = phase.outer[k] = phase.inner[k] = NaN;
  return { coverage, section, seen, ...phase };
}

function hasNaN(values: Float64Array): boolean {
  for (let i = 0; i < values.length; i++) if (Number.isNaN(values[i]!)) return true;
  return false;
}

/** Share of metal between two columns, place by place; NaN where unseen. */
function bodiesOf(
  { coverage, seen }: CutRim,
  n: number,
  radii: number,
  low: number,
  high: number,
): Float64Array {
  const body = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    let sum = 0;
    for (let j = low; j <= high; j++) sum += coverage[k * radii + j]!;
    body[k] = seen[k] ? sum / (high - low + 1) : NaN;
  }
  return body;
}

/** Columns where the teeth have narrowed; NaN where unseen or nowhere. */
function tipMarksOf(
  { coverage, seen }: CutRim,
  n: number,
  radii: number,
  low: number,
  middle: number,
): Float64Array {
  const bodyAtMiddle = upperMedian(
    Array.from({ length: n }, (_, k) => k)
      .filter((k) => seen[k])
      .map((k) => coverage[k * radii + middle]!),
  );
  const marks = new Float64Array(n).fill(NaN);
  for (let k = 0; k < n; k++) {
    if (!seen[k]) continue;
    // Against the tooth's own body, so that a tooth that is darker than the rim is not called shorter.
    const own = coverage[k * radii + middle]!;
    const level = 0.4 * (own > 0.7 * bodyAtMiddle ? own : bodyAtMiddle);
    const mark = narrowsTo(coverage, k * radii, radii, low, level);
    if (mark !== undefined) marks[k] = mark;
  }
  return marks;
}

/** Adds one ray to the sums over a place: heights, and heights times the direction of the ray within the place. */
function addRay(
  data: Float32Array,
  at: number,
  zero: number,
  scale: number,
  c: number,
  s: number,
  total: Float64Array,
  re: Float64Array,
  im: Float64Array,
): void {
  for (let j = 0; j < total.length; j++) {
    const raw = (data[at + j]! - zero) * scale;
    const height = raw > 1.25 ? 1.25 : raw < -0.25 ? -0.25 : raw;
    total[j]! += height;
    re[j]! += height * c;
    im[j]! += height * s;
  }
}

function cutThrough(data: Float32Array, from: number, to: number, zero: number, scale: number): number {
  let sum = 0;
  for (let p = from; p <= to; p++) sum += (data[p]! - zero) * scale;
  return sum;
}

/** Direction of the sum over columns, in pitches; NaN where it is not longer than `least`. */
function offsetOf(re: Float64Array, im: Float64Array, from: number, to: number, least: number): number {
  let x = 0;
  let y = 0;
  for (let j = from; j <= to; j++) {
    x += re[j]!;
    y += im[j]!;
  }
  return Math.hypot(x, y) > least ? Math.atan2(y, x) / (2 * Math.PI) : NaN;
}

/** Outermost column where the coverage falls through `level`, interpolated; undefined if it never was above. */
function narrowsTo(
  c: Float32Array,
  at: number,
  radii: number,
  from: number,
  level: number,
): number | undefined {
  for (let j = radii - 2; j >= from; j--) {
    const inside = c[at + j]!;
    if (inside >= level) {
      const outside = c[at + j + 1]!;
      return j + (inside - level) / Math.max(1e-9, inside - outside);
    }
  }
  return undefined;
}

/** Median of columns from .. to - 1 of each place. */
function writeLevels(
  data: Float32Array,
  radii: number,
  perPlace: number,
  from: number,
  to: number,
  scratch: Float64Array,
  out: Float64Array,
): void {
  for (let k = 0; k < out.length; k++)
    out[k] = medianOfBlock(data, radii, k * perPlace, (k + 1) * perPlace, from, to, scratch);
}

/** Of every second row of a block; NaN left out. */
function medianOfBlock(
  d: Float32Array,
  radii: number,
  i0: number,
  i1: number,
  j0: number,
  j1: number,
  scratch: Float64Array,
): number {
  let n = 0;
  for (let i = i0; i < i1; i += 2)
    for (let j = j0; j < j1; j++) {
      const s = d[i * radii + j]!;
      if (!Number.isNaN(s)) scratch[n++] = s;
    }
  return n === 0 ? NaN : selectInPlace(scratch.subarray(0, n), n >> 1);
}

/** Of five in a row; NaN left out. */
function medianOfNeighbours(v: Float64Array): Float64Array {
  const out = new Float64Array(v.length);
  const sorted = new Float64Array(5);
  for (let k = 0; k < out.length; k++) {
    let n = 0;
    for (let d = -2; d <= 2; d++) {
      const s = v[(k + d + v.length) % v.length]!;
      if (Number.isNaN(s)) continue;
      let at = n++;
      for (; at > 0 && sorted[at - 1]! > s; at--) sorted[at] = sorted[at - 1]!;
      sorted[at] = s;
    }
    out[k] = n === 0 ? NaN : sorted[n >> 1]!;
  }
  return out;
}

/** The upper of the two in the middle of an even number; NaN of none. */
const upperMedian = (values: readonly number[]): number =>
  values.length === 0 ? NaN : selectInPlace(Float64Array.from(values), values.length >> 1);
