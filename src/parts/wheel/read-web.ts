import type { Photo } from "../../photo/index.js";
import type { Contrast } from "../contrast.js";
import { pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { ThickOutline } from "../thick-outline.js";
import { unroll, type Unrolled } from "../unroll.js";
import { findBore, type Bore, type BoreBlur } from "./find-bore.js";
import type { WallShare } from "./weigh-centres.js";

/** What lies inside the rim: crossings and the hole in the middle. */
export interface Web {
  /** Arms between hub and rim; 0 for a solid web; undefined when it cannot be told. */
  readonly crossings: number | undefined;
  readonly bore: Bore | undefined;
}

const angles = 720;
const cosine = Float64Array.from({ length: angles }, (_, i) => Math.cos((2 * Math.PI * i) / angles));
const sine = Float64Array.from({ length: angles }, (_, i) => Math.sin((2 * Math.PI * i) / angles));
const fewestArms = 2;
const mostArms = 12;

export function readWeb(
  photo: Photo,
  contrast: Contrast,
  face: FacePlane,
  rootMm: number,
  thick: ThickOutline,
  wall: WallShare,
  blur: BoreBlur,
): Web {
  const pxPerMm = pxPerMmOnFace(face);
  const step = Math.max(0.7 / pxPerMm, rootMm / 220);
  const ring = unroll(photo, contrast, face, 0, 0.97 * rootMm, step, angles);
  return {
    crossings: countCrossings(ring),
    bore: findBore(photo, contrast, face, ring, thick, wall, blur),
  };
}

/** Rows between hub and rim vote; a row speaks when its pattern is regular and as many gaps are seen as waves. */
function countCrossings(ring: Unrolled): number | undefined {
  const votes = new Float64Array(mostArms + 1);
  let solid = 0;
  let rows = 0;
  const row = new Float64Array(angles);
  for (let j = Math.round(0.3 * ring.radii); j < Math.round(0.93 * ring.radii); j++) {
    rows++;
    if (takeRow(ring.data, ring.radii, j, row) > 0.2 * angles) continue;
    if (metalIn(row) > 0.97 * angles) solid++;
    // Gaps are soon counted, and few rows have a regular pattern.
    const gaps = gapsIn(row);
    if (gaps >= fewestArms && gaps <= mostArms && isStrongest(row, gaps)) votes[gaps]!++;
  }
  let best = 0;
  for (let k = fewestArms; k <= mostArms; k++) if (votes[k]! > votes[best]!) best = k;
  const total = votes.reduce((a, b) => a + b, 0);
  if (best > 0 && votes[best]! >= 0.1 * rows && votes[best]! > 0.6 * total) return best;
  return solid > 0.75 * rows ? 0 : undefined;
}

/** One radius of a ring, between 0 and 1; metal where the picture ends. Returns how often that is. */
function takeRow(data: Float32Array, radii: number, j: number, row: Float64Array): number {
  let unseen = 0;
  for (let i = 0, p = j; i < row.length; i++, p += radii) {
    const s = data[p]!;
    row[i] = s <= 0 ? 0 : s < 1 ? s : 1;
    if (Number.isNaN(s)) unseen++;
  }
  return unseen;
}

function metalIn(row: Float64Array): number {
  let metal = 0;
  for (let i = 0; i < row.length; i++) if (row[i]! > 0.5) metal++;
  return metal;
}

/** A wave of less than this is none. */
const leastAmplitude = 0.12;

/** Of the waves that go 1 .. mostArms times round, is this the strongest one? */
function isStrongest(row: Float64Array, arms: number): boolean {
  const own = amplitudeOf(row, arms);
  if (own <= leastAmplitude) return false;
  // All waves together hold no more than the row does (Parseval): once too little is left, none can be stronger.
  let left = 2 * varianceOf(row) - own ** 2;
  // Arms narrower than their gaps make the double wave the next one.
  for (const k of [2 * arms, ...waves.filter((wave) => wave !== 2 * arms)]) {
    if (left < own ** 2) return true;
    if (k === arms) continue;
    const amplitude = amplitudeOf(row, k);
    if (k <= mostArms && amplitude > own) return false;
    left -= amplitude ** 2;
  }
  return true;
}

const waves = Array.from({ length: mostArms }, (_, i) => i + 1);

/** Of the wave that goes k times round. */
function amplitudeOf(row: Float64Array, k: number): number {
  let re = 0;
  let im = 0;
  for (let i = 0, p = 0; i < angles; i++) {
    re += row[i]! * cosine[p]!;
    im += row[i]! * sine[p]!;
    p += k;
    if (p >= angles) p -= angles;
  }
  return (2 * Math.hypot(re, im)) / angles;
}

function varianceOf(row: Float64Array): number {
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < row.length; i++) {
    sum += row[i]!;
    squares += row[i]! * row[i]!;
  }
  return squares / row.length - (sum / row.length) ** 2;
}

/** Runs of holes of at least 1.5 % of the turn, round the seam. */
function gapsIn(row: Float64Array): number {
  const n = row.length;
  let start = 0;
  while (start < n && row[start]! <= 0.5) start++;
  if (start === n) return 0;
  let gaps = 0;
  let run = 0;
  for (let d = 1, i = start + 1; d <= n; d++, i++) {
    if (i >= n) i -= n;
    if (row[i]! <= 0.5) run++;
    else {
      if (run >= 0.015 * n) gaps++;
      run = 0;
    }
  }
  return gaps;
}
