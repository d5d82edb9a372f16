import { choleskyFactor, medianOf, robustScale, solveLinearLeastSquares } from "../../fit/index.js";
import { placeInTurn } from "../../geometry/index.js";
import type { Point, WheelMarks } from "../../parts/index.js";
import type { InputId } from "../../quantity/index.js";

/** Slopes of the face, x and y of every photograph in turn, and what each input does to them. */
export interface Slopes {
  readonly slopes: readonly Point[];
  readonly terms: ReadonlyMap<InputId, Float64Array>;
}

/** A wheel that rocks slopes by so much at most, before anything is measured. */
const usualSlope = 0.05;
/** Neighbouring teeth share what the picture's packing does to them; found on rendered photographs. */
const sharedNoise = 2;
/** Light moves the teeth of one side by so much, px, and not in the same way in the next photograph. */
const floorPx = 0.03;
/** Share of the wall that passes for metal under the tips and under the flanks, which the teeth do not tell. */
const uWall = { tips: 0.3, flanks: 0.18 };
/** Shift x, y, size and turn of the whole wheel, slope x, y. */
const perPhoto = 6;
/** What light draws out or squeezes stays where it is when the wheel turns: cos 2a, sin 2a of tips and of flanks. */
const shared = 4;
const usualOvalMm = 0.05;

/**
 * How the face slopes in every photograph, from where each tooth is seen in one and in the others. A tooth that
 * stands z higher is seen z (p - foot) / (height of the camera) further from the foot point:
 *
 *     camera straight above        tips move outwards on the high side, inwards on the low one: a shift of the tips
 *     camera from one side         the circle is squeezed or drawn out: far more, for a slope towards the camera
 *
 * Where a tooth stands on the wheel is unknown and the same in all photographs, so that the wheel's own form has no say;
 * the wheel as a whole may have been moved and turned.
 *
 * @param turnsRad turn of the wheel against the first photograph.
 * @returns undefined if too few teeth are seen in all photographs.
 */
export function solveSlopes(photos: readonly WheelMarks[], turnsRad: readonly number[]): Slopes | undefined {
  const [first] = photos;
  if (first === undefined) return undefined;
  const teeth = teethOfAll(photos, turnsRad);
  if (teeth.length < 8) return undefined;
  const n = perPhoto * photos.length + shared;
  const rowCount = 2 * teeth.length * photos.length;
  const design = new Float64Array(rowCount * n);
  const values = new Float64Array(rowCount);
  const walls = { tips: new Float64Array(rowCount), flanks: new Float64Array(rowCount) };
  let at = 0;
  for (const places of teeth) {
    for (const along of [false, true]) {
      const from = at;
      photos.forEach((marks, k) => {
        const place = places[k]!;
        design.set(rowOf(marks, place.angleRad, along), at * n + perPhoto * k);
        const oval = [Math.cos(2 * place.angleRad), Math.sin(2 * place.angleRad)];
        design.set(oval, (at + 1) * n - (along ? 2 : 4));
        values[at] = along ? place.alongMm : place.outMm;
        if (along) walls.flanks[at] = flankWall(marks, place.angleRad);
        else walls.tips[at] = tipWall(marks, place.angleRad);
        at++;
      });
      // The tooth's own place on the wheel is an unknown of its own: taking off the mean over the photographs solves it.
      for (const v of [values, walls.tips, walls.flanks]) takeOffMean(v, from, at, 1, 0);
      for (let j = 0; j < n; j++) takeOffMean(design, from, at, n, j);
    }
  }
  const solve = (b: Float64Array, u: readonly [number, number]) =>
    solveLinearLeastSquares(...withPriors(design, b, n, photos.length, u));
  const rough = solve(values, [1, 1]);
  if (!rough.ok) return undefined;
  const u = spreadOf(design, values, rough.value.params, photos.length, first.pxPerMm);
  const fit = solve(values, u);
  if (!fit.ok) return undefined;
  const slopeAt = photos.flatMap((_, k) => [perPhoto * k + 4, perPhoto * k + 5]);
  const m = slopeAt.length;
  const covariance = new Float64Array(m * m);
  for (let a = 0; a < m; a++)
    for (let b = 0; b < m; b++)
      covariance[a * m + b] = sharedNoise ** 2 * fit.value.covariance[slopeAt[a]! * n + slopeAt[b]!]!;
  photos.forEach((marks, k) => {
    // What light does looks like a shift of the tips.
    const floor =
      (floorPx / marks.pxPerMm) * ((marks.cameraMm[2] - marks.outlineMm) / marks.tipRadiusMm ** 2);
    const best = Math.min(covariance[2 * k * (m + 1)]!, covariance[(2 * k + 1) * (m + 1)]!);
    const share = best / (best + floor ** 2);
    for (const i of [2 * k, 2 * k + 1]) covariance[i * (m + 1)]! += share * floor ** 2;
  });
  const factor = choleskyFactor(covariance, m);
  if (factor === undefined) return undefined;
  const terms = new Map<InputId, Float64Array>();
  for (let c = 0; c < m; c++)
    terms.set(
      `fit:slope-${c}`,
      Float64Array.from({ length: m }, (_, i) => factor[i * m + c]!),
    );
  for (const side of ["tips", "flanks"] as const) {
    const moved = solve(walls[side], u);
    if (moved.ok)
      terms.set(
        `edge:wall-${side}`,
        Float64Array.from(slopeAt, (i) => uWall[side] * moved.value.params[i]!),
      );
  }
  const { params } = fit.value;
  return {
    slopes: photos.map((_, k): Point => [params[perPhoto * k + 4]!, params[perPhoto * k + 5]!]),
    terms,
  };
}

type Place = WheelMarks["shifts"][number];

/** Teeth that all photographs show: their places in each. */
function teethOfAll(photos: readonly WheelMarks[], turnsRad: readonly number[]): Place[][] {
  const [first] = photos as [WheelMarks];
  const n = first.toothCount;
  const pitch = (2 * Math.PI) / n;
  const byTooth = photos.map((marks, k) => {
    const tooth = (angle: number): number =>
      placeInTurn(Math.round((angle - turnsRad[k]! - first.toothPhaseRad) / pitch), n);
    return new Map(marks.shifts.map((place) => [tooth(place.angleRad), place]));
  });
  return Array.from({ length: n }, (_, j) => byTooth.map((teeth) => teeth.get(j))).filter(
    (places): places is Place[] => places.every((place) => place !== undefined),
  );
}

function rowOf(marks: WheelMarks, angleRad: number, along: boolean): number[] {
  const { tipRadiusMm: r, cameraMm, centreMm, outlineMm } = marks;
  const up = cameraMm[2] - outlineMm;
  const [c, s] = [Math.cos(angleRad), Math.sin(angleRad)];
  const [x, y] = [centreMm[0] - cameraMm[0], centreMm[1] - cameraMm[1]];
  // How far a tooth moves for each mm that it stands higher.
  const lean = along ? (c * y - s * x) / up : (c * x + s * y + r) / up;
  return along ? [-s, c, 0, 1, r * c * lean, r * s * lean] : [c, s, 1, 0, r * c * lean, r * s * lean];
}

/** How far the lower edge looks out beyond the tips, mm. */
function tipWall(marks: WheelMarks, angleRad: number): number {
  const { tipRadiusMm: r, cameraMm, centreMm, outlineMm, edgesApartMm } = marks;
  const [x, y] = [centreMm[0] - cameraMm[0], centreMm[1] - cameraMm[1]];
  const out = -(x * Math.cos(angleRad) + y * Math.sin(angleRad) + r);
  return Math.max(0, (out * edgesApartMm) / (cameraMm[2] - outlineMm + edgesApartMm));
}

/** How far the middle of a tooth is seen beside the middle of its upper edge, mm. */
function flankWall(marks: WheelMarks, angleRad: number): number {
  const { cameraMm, centreMm, outlineMm, edgesApartMm } = marks;
  const [x, y] = [centreMm[0] - cameraMm[0], centreMm[1] - cameraMm[1]];
  const beside = x * Math.sin(angleRad) - y * Math.cos(angleRad);
  return (0.5 * beside * edgesApartMm) / (cameraMm[2] - outlineMm + edgesApartMm);
}

function takeOffMean(v: Float64Array, from: number, to: number, stride: number, offset: number): void {
  let mean = 0;
  for (let i = from; i < to; i++) mean += v[i * stride + offset]! / (to - from);
  for (let i = from; i < to; i++) v[i * stride + offset]! -= mean;
}

/** Rows of out and of along come in turn, a group of each for every tooth. */
const isAlong = (row: number, photos: number): boolean => Math.floor(row / photos) % 2 === 1;

/** Divides rows by their spread, and adds what is believed of the unknowns: slopes are small, shifts within 10 mm. */
function withPriors(
  design: Float64Array,
  values: Float64Array,
  n: number,
  photos: number,
  [uOut, uAlong]: readonly [number, number],
): [Float64Array, Float64Array, number] {
  const m = values.length;
  const a = new Float64Array((m + n) * n);
  const b = new Float64Array(m + n);
  for (let i = 0; i < m; i++) {
    const w = 1 / (isAlong(i, photos) ? uAlong : uOut);
    for (let j = 0; j < n; j++) a[i * n + j] = w * design[i * n + j]!;
    b[i] = w * values[i]!;
  }
  for (let j = 0; j < n; j++) a[(m + j) * n + j] = 1 / usualOf(j, photos);
  return [a, b, n];
}

function usualOf(unknown: number, photos: number): number {
  if (unknown >= perPhoto * photos) return usualOvalMm;
  return unknown % perPhoto >= 4 ? usualSlope : 10;
}

/** Scatter of out and of along, mm. */
function spreadOf(
  design: Float64Array,
  values: Float64Array,
  params: Float64Array,
  photos: number,
  pxPerMm: number,
): [number, number] {
  const n = params.length;
  const left: [number[], number[]] = [[], []];
  for (let i = 0; i < values.length; i++) {
    let r = values[i]!;
    for (let j = 0; j < n; j++) r -= design[i * n + j]! * params[j]!;
    left[isAlong(i, photos) ? 1 : 0].push(r);
  }
  // The mean over the photographs has been taken off.
  const grown = Math.sqrt(photos / Math.max(1, photos - 1));
  const of = (r: number[]): number => {
    const middle = medianOf(r);
    return Math.max(0.02 / pxPerMm, grown * robustScale(r.map((v) => v - middle)));
  };
  return [of(left[0]), of(left[1])];
}
