import { fitCircleRobust, solveLinearLeastSquares } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import type { Contrast } from "../contrast.js";
import { pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import { linearFromSrgb } from "../linear-light.js";
import type { ThickOutline } from "../thick-outline.js";
import { unroll, type Unrolled } from "../unroll.js";
import { lookInside } from "./arbor-in-bore.js";
import type { WallShare } from "./weigh-centres.js";

/** What lies inside the rim: crossings and the hole in the middle. */
export interface Web {
  /** Arms between hub and rim; 0 for a solid web; undefined when it cannot be told. */
  readonly crossings: number | undefined;
  readonly bore: Bore | undefined;
}

export interface Bore {
  /** Centre relative to that of the face, mm. */
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  /** Of a coordinate, the share of the wall being known. */
  readonly uCentreMm: number;
  /** How the centre moves with the share of the wall, mm for all of it. */
  readonly perWallMm: readonly [number, number];
  readonly uRadiusMm: number;
  /** What is seen in it is one even surface, as the sheet is, and no arbor's end. */
  readonly surelyOpen: boolean;
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
  blurPx: number,
): Web {
  const pxPerMm = pxPerMmOnFace(face);
  const step = Math.max(0.7 / pxPerMm, rootMm / 220);
  const ring = unroll(photo, contrast, face, 0, 0.97 * rootMm, step, angles);
  return {
    crossings: countCrossings(ring),
    bore: findBore(photo, contrast, face, ring, thick, wall, blurPx),
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

/**
 * A hole in the middle through which the surroundings of the wheel are seen. An arbor in it hides it, and its end
 * stands elsewhere (it is higher): then there is no bore to be measured.
 */
function findBore(
  photo: Photo,
  contrast: Contrast,
  face: FacePlane,
  ring: Unrolled,
  thick: ThickOutline,
  wall: WallShare,
  blurPx: number,
): Bore | undefined {
  const rough = edgeOutwards(ring, 0.35 * ring.radii);
  if (rough === undefined) return undefined;
  const pxPerMm = pxPerMmOnFace(face);
  const centred: FacePlane = shifted(face, rough.x, rough.y);
  const step = 0.4 / pxPerMm;
  const fine = unroll(photo, contrast, centred, 0, rough.radius * 1.35 + 4 / pxPerMm, step, 360);
  const points: number[] = [];
  const edges: HoleEdge[] = [];
  for (let i = 0; i < fine.angles; i++) {
    const t = (2 * Math.PI * i) / fine.angles;
    const r = crossingOutwards(fine, i);
    if (r === undefined) continue;
    points.push(r * Math.cos(t), r * Math.sin(t));
    edges.push({ angleRad: t, radiusMm: r, excessMm: thick.holeExcessMm(t, r) });
  }
  if (points.length < 2 * 0.7 * fine.angles) return undefined;
  const fit = fitCircleRobust(Float64Array.from(points));
  if (!fit.ok) return undefined;
  const { x, y, radius, scale } = fit.value;
  if (!showsSurroundings(photo, contrast, shifted(centred, x, y), 0.8 * radius)) return undefined;
  // A round hole is round to a pixel or so; a shadow or an arbor's end in it is not.
  if (scale * pxPerMm > 0.8 || radius * pxPerMm < 3) return undefined;
  const inside = lookInside(photo, shifted(centred, x, y), radius);
  if (inside === undefined || inside.ringed) return undefined;
  const hole = fitHole(edges, scale, wall);
  if (hole === undefined) return undefined;
  // Told by lightness, a shadow passes for metal.
  const floor = contrast.growth === 0 ? uByLightPx / pxPerMm : 0;
  return {
    xMm: rough.x + hole.x,
    yMm: rough.y + hole.y,
    radiusMm: hole.radius + (contrast.growth === 0 ? 0 : shadedPx / pxPerMm),
    uCentreMm: Math.hypot(floor, Math.max(uCentrePx, uCentrePerBlur * blurPx) / pxPerMm, hole.uCentre),
    perWallMm: hole.perWall,
    uRadiusMm: Math.hypot(floor, uRadiusPx / pxPerMm, hole.uRadius),
    surelyOpen: inside.even,
  };
}

interface HoleEdge {
  readonly angleRad: number;
  readonly radiusMm: number;
  readonly excessMm: number;
}

/** Light and shade round a hole move its edges by so much, px: found on rendered photographs. */
const uCentrePx = 0.16;
/** ... and by so much of the blur: one bright side moves a soft edge further than a sharp one. */
const uCentrePerBlur = 0.25;
const uRadiusPx = 0.35;
/** The sheet within a hole lies in shade: told by colour, the metal round it looks larger. */
const shadedPx = 0.3;
const uByLightPx = 0.8;
interface HoleFit {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
  readonly uCentre: number;
  readonly uRadius: number;
  readonly perWall: readonly [number, number];
}

/**
 * Circle about a centre that is nearly right: linear, outliers left aside. The wall that is seen on the far side is
 * taken off by the share that is stated: it would be told from an offset of the centre by a slight oval alone, and
 * light makes those.
 */
function fitHole(edges: readonly HoleEdge[], scatterMm: number, wall: WallShare): HoleFit | undefined {
  const n = edges.length;
  const a = new Float64Array(3 * n);
  const walls = Float64Array.from(edges, (e) => e.excessMm);
  const b = Float64Array.from(edges, (e) => e.radiusMm - wall.share * e.excessMm);
  const weights = new Float64Array(n).fill(1 / scatterMm ** 2);
  edges.forEach((e, i) => {
    a.set([Math.cos(e.angleRad), Math.sin(e.angleRad), 1], 3 * i);
  });
  let result: HoleFit | undefined;
  for (let round = 0; round < 4; round++) {
    const fit = solveLinearLeastSquares(a, b, 3, weights);
    const drawn = solveLinearLeastSquares(a, walls, 3, weights);
    if (!fit.ok || !drawn.ok) return undefined;
    const { params: p, covariance: c } = fit.value;
    const [dx, dy, dr] = drawn.value.params;
    // Neighbouring samples share their errors: about a sixth of them are independent.
    const shared = 6;
    result = {
      x: p[0]!,
      y: p[1]!,
      radius: p[2]!,
      uCentre: Math.sqrt((shared * (c[0]! + c[4]!)) / 2),
      uRadius: Math.hypot(Math.sqrt(shared * c[8]!), wall.u * dr!),
      perWall: [-dx!, -dy!],
    };
    edges.forEach((e, i) => {
      const r = b[i]! - p[0]! * Math.cos(e.angleRad) - p[1]! * Math.sin(e.angleRad) - p[2]!;
      const q = r / (4 * scatterMm);
      weights[i] = Math.abs(q) < 1 ? (1 - q * q) ** 2 / scatterMm ** 2 : 1e-9;
    });
  }
  return result;
}

/** At least half of what is seen in the hole is as bright as the surroundings, and without colour of its own. */
function showsSurroundings(photo: Photo, contrast: Contrast, face: FacePlane, radiusMm: number): boolean {
  let alike = 0;
  let all = 0;
  for (let ring = 1; ring <= 6; ring++) {
    for (let k = 0; k < 4 * ring; k++) {
      const [u, v] = pixelFromFace(face, (radiusMm * ring) / 6, (2 * Math.PI * k) / (4 * ring));
      const i = Math.round(u);
      const j = Math.round(v);
      if (!(i >= 0 && j >= 0 && i < photo.widthPx && j < photo.heightPx)) return false;
      const p = 3 * (j * photo.widthPx + i);
      const ratio = contrast.around.map((a, c) => (linearFromSrgb[photo.rgb[p + c]!]! + 0.004) / (a + 0.004));
      const [low, high] = [Math.min(...ratio), Math.max(...ratio)];
      all++;
      if (low > 0.72 && high < 1.45 && high / low < 1.35) alike++;
    }
  }
  return alike >= 0.5 * all;
}

const shifted = (face: FacePlane, x: number, y: number): FacePlane => {
  const [a, b, c, d] = face.affine;
  return { ...face, xMm: face.xMm + a * x + b * y, yMm: face.yMm + c * x + d * y };
};

function edgeOutwards(ring: Unrolled, most: number): { x: number; y: number; radius: number } | undefined {
  const points: number[] = [];
  for (let i = 0; i < ring.angles; i++) {
    const r = crossingOutwards(ring, i);
    if (r === undefined || r > most * ring.stepMm) continue;
    const t = (2 * Math.PI * i) / ring.angles;
    points.push(r * Math.cos(t), r * Math.sin(t));
  }
  if (points.length < 2 * 0.75 * ring.angles) return undefined;
  const fit = fitCircleRobust(Float64Array.from(points));
  return fit.ok && Math.hypot(fit.value.x, fit.value.y) < 0.8 * fit.value.radius ? fit.value : undefined;
}

/** First place outwards where holes end and metal begins; undefined when there is metal right from the centre. */
function crossingOutwards(ring: Unrolled, i: number): number | undefined {
  const row = i * ring.radii;
  if (!(ring.data[row]! < 0.3)) return undefined;
  for (let j = 1; j < ring.radii - 1; j++) {
    const s = ring.data[row + j]!;
    if (s >= 0.5 && ring.data[row + j + 1]! >= 0.5) {
      const before = ring.data[row + j - 1]!;
      return ring.fromRadiusMm + (j - (s - 0.5) / Math.max(1e-6, s - before)) * ring.stepMm;
    }
  }
  return undefined;
}
