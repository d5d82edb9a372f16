import type { MeanShare } from "./fit-raked-depth.js";
import type { ToothCircle } from "./fit-tooth-circle.js";
import type { ToothGrid } from "./tooth-picture.js";
import type { ToothPlaces } from "./tooth-places.js";

/**
 * The mean of many teeth, laid over each other and over their mirror images: seen many times finer than one of them.
 */
export interface MeanTooth extends ToothGrid {
  /** Signal, 0 on the open sheet and 1 on metal: row j, column h at value[j * columns + h]. */
  readonly value: Float64Array;
}

const fewestRows = 9;
/** So many radii of nothing but metal are kept: further in the face may look otherwise. */
const metalRows = 5;
/** What is taken from a cell at the most: glints are brighter. */
const brightest = 1.25;
const darkest = -0.25;

/** Cells are as large as this share of the blur: finer ones tell nothing more. */
const cellPerBlur = 0.7;
const fewestColumns = 6;

/**
 * @param chosen places.
 * @param blurMm standard deviation of the blur of the signal.
 * @returns undefined when hardly a radius is seen at most of them.
 */
export function meanToothOf(
  places: ToothPlaces,
  circle: ToothCircle,
  chosen: readonly number[],
  blurMm: number,
): MeanTooth | undefined {
  const { radii, fromRadiusMm, rays, perPlace, count, pitchRad } = places;
  const { first, last } = radiiOf(places, circle, chosen);
  const from = Math.max(first, places.metalTo - metalRows);
  const skip = Math.max(1, Math.floor((cellPerBlur * blurMm) / places.stepMm));
  const rows = Math.floor((last - from) / skip) + 1;
  if (rows < fewestRows) return undefined;
  const halfPitchMm = 0.5 * pitchRad * places.tipMm;
  const columns = Math.max(
    fewestColumns,
    Math.min(Math.ceil(perPlace / 2), Math.ceil(halfPitchMm / (cellPerBlur * blurMm))),
  );
  const raysAColumn = perPlace / (2 * columns);
  const value = new Float64Array(rows * columns);
  const weight = new Float64Array(rows);
  const all = count * perPlace;
  const row = new Float64Array(radii);
  for (const k of chosen) {
    const offset = places.offset[k]!;
    const level = places.metal[k]! - places.around[k]!;
    if (Number.isNaN(offset) || !(level > 0)) continue;
    const middle = (k + 0.5 + offset) * perPlace;
    const shift = from + circle.radialShiftMm[k]! / places.stepMm;
    for (let h = 0; h < columns; h++) {
      row.fill(0);
      addBetweenRays(rays, all, middle - (h + 0.5) * raysAColumn, row);
      addBetweenRays(rays, all, middle + (h + 0.5) * raysAColumn, row);
      for (let j = 0; j < rows; j++) {
        const x = j * skip + shift;
        const at = Math.floor(x);
        if (at < 0 || at + 1 >= radii) continue;
        const v = row[at]! + (x - at) * (row[at + 1]! - row[at]!);
        value[j * columns + h]! += Math.min(brightest, Math.max(darkest, (v - places.around[k]!) / level));
        if (h === 0) weight[j]!++;
      }
    }
  }
  if (weight.some((w) => w === 0)) return undefined;
  for (let i = 0; i < value.length; i++) value[i]! /= weight[Math.floor(i / columns)]!;
  return {
    value,
    rows,
    columns,
    fromMm: fromRadiusMm + from * places.stepMm,
    stepMm: skip * places.stepMm,
    pitchRad,
  };
}

/** Half of what lies at a place between two rays. */
function addBetweenRays(rays: Float32Array, all: number, x: number, out: Float64Array): void {
  const at = Math.floor(x);
  addRay(rays, (((at % all) + all) % all) * out.length, 0.5 * (at + 1 - x), out);
  addRay(rays, ((((at + 1) % all) + all) % all) * out.length, 0.5 * (x - at), out);
}

function addRay(rays: Float32Array, at: number, weight: number, out: Float64Array): void {
  for (let j = 0; j < out.length; j++) out[j]! += weight * rays[at + j]!;
}

/** The first and the last radius that is read at most of the places, lined up by their own radii. */
function radiiOf(
  { radii, stepMm }: ToothPlaces,
  circle: ToothCircle,
  chosen: readonly number[],
): { readonly first: number; readonly last: number } {
  const shifts = chosen.map((k) => circle.radialShiftMm[k]! / stepMm).sort((a, b) => a - b);
  const middle = shifts[shifts.length >> 1] ?? 0;
  return {
    first: Math.max(0, Math.ceil(-middle)),
    last: Math.min(radii - 1, Math.floor(radii - 1.001 - middle)),
  };
}

/** Share of the pitch that is metal against radius, averaged over some of the places, lined up by their own radii. */
export function meanShareOf(
  places: ToothPlaces,
  circle: ToothCircle,
  chosen: readonly number[],
): MeanShare | undefined {
  const { radii, stepMm, fromRadiusMm, coverage, pitchRad } = places;
  const { first, last } = radiiOf(places, circle, chosen);
  if (last - first + 1 < fewestRows) return undefined;
  const share = new Float64Array(last - first + 1);
  const weight = new Float64Array(share.length);
  for (const k of chosen) {
    const shift = first + circle.radialShiftMm[k]! / stepMm;
    for (let j = 0; j < share.length; j++) {
      const at = Math.floor(j + shift);
      if (at < 0 || at + 1 >= radii) continue;
      const f = j + shift - at;
      share[j]! += (1 - f) * coverage[k * radii + at]! + f * coverage[k * radii + at + 1]!;
      weight[j]!++;
    }
  }
  return {
    share: share.map((s, j) => s / Math.max(1, weight[j]!)),
    fromMm: fromRadiusMm + first * stepMm,
    stepMm,
    pitchRad,
  };
}
