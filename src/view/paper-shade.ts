import { choleskyFactor, choleskySolve, medianOf } from "../fit/index.js";
import { isInSight, pixelFromMat, sightOf, type Sight, type ViewGeometry } from "../geometry/index.js";
import type { Sheet } from "../mat/index.js";
import type { Photo } from "../photo/index.js";
import { linearFromSrgb } from "./linear-light.js";

/** Red, green, blue in linear light, 0 to 1. */
export type LinearRgb = readonly [number, number, number];

/**
 * How bright and of what colour the bare paper is all over the picture: a smooth model, plain data. Metal, shadows and
 * glare are what departs from it. Evaluate it with `paperRgbAt`.
 */
export interface PaperShade {
  /** Position is counted from the middle of the picture in halves of its long side. */
  readonly middlePx: readonly [number, number];
  readonly halfPx: number;
  /** Per colour: factors of 1, x, y, x², xy, y², x³, x²y, xy², y³. */
  readonly coefficients: readonly (readonly number[])[];
  /** Robust standard deviation of bare paper about the model, relative. */
  readonly relativeSpread: number;
  /** The printed grey patch over the paper there, linear; absent when covered. As printed: about 0.2. */
  readonly greyOverPaper?: LinearRgb;
}

/** Bare paper at a pixel, linear light; never below a thousandth. */
export function paperRgbAt(shade: PaperShade, uPx: number, vPx: number): LinearRgb {
  const x = (uPx - shade.middlePx[0]) / shade.halfPx;
  const y = (vPx - shade.middlePx[1]) / shade.halfPx;
  const terms = termsAt(x, y);
  const one = (c: number): number =>
    Math.max(
      0.001,
      terms.reduce((sum, term, i) => sum + term * shade.coefficients[c]![i]!, 0),
    );
  return [one(0), one(1), one(2)];
}

const termCount = 10;
const termsAt = (x: number, y: number): number[] => [
  1, x, y, x * x, x * y, y * y, x * x * x, x * x * y, x * y * y, y * y * y,
]; // prettier-ignore

interface Sample {
  readonly terms: readonly number[];
  readonly rgb: LinearRgb;
}

/**
 * Learns the shade of the paper from the white around the markers, then from as much of the field as agrees with it.
 *
 * @param printScale printed over nominal length, across and along.
 * @param markerIds markers that were seen uncovered.
 * @returns undefined when too little white paper is seen.
 */
export function measurePaperShade(
  photo: Pick<Photo, "rgb" | "widthPx" | "heightPx">,
  sheet: Sheet,
  geometry: ViewGeometry,
  printScale: readonly [number, number],
  markerIds: ReadonlySet<number>,
): PaperShade | undefined {
  const middlePx = [(photo.widthPx - 1) / 2, (photo.heightPx - 1) / 2] as const;
  const halfPx = Math.max(photo.widthPx, photo.heightPx) / 2;
  const sight = sightOf(geometry.camera, photo.widthPx, photo.heightPx);
  const sampleAt = (xMm: number, yMm: number): Sample | undefined => {
    const [x, y] = [xMm * printScale[0], yMm * printScale[1]];
    if (!isInSight(geometry, sight, [x, y, 0])) return undefined;
    const [u, v] = pixelFromMat(geometry, x, y, 0);
    const rgb = meanRgb(photo, u, v);
    return rgb && { rgb, terms: termsAt((u - middlePx[0]) / halfPx, (v - middlePx[1]) / halfPx) };
  };
  const rim: Sample[] = [];
  // 1.2 mm off the marker's edge: white by design, clear of blur, ticks and words.
  const off = sheet.markerSizeMm / 2 + 1.2;
  for (const { id, centreMm } of sheet.markers) {
    if (!markerIds.has(id)) continue;
    for (const [dx, dy] of [[-1, -1], [0, -1], [1, -1], [-1, 0], [1, 0], [-1, 1], [0, 1], [1, 1]] as const) {
      const sample = sampleAt(centreMm[0] + dx * off, centreMm[1] + dy * off);
      if (sample) rim.push(sample);
    }
  } // prettier-ignore
  // From the rim alone: no cubic terms, they would run wild in the middle.
  const first = rim.length >= 16 ? fit(rim, 6) : undefined;
  if (!first) return undefined;
  const field: Sample[] = [];
  for (let i = -6; i <= 6; i++) {
    for (let j = -8; j <= 8; j++) {
      const sample = sampleAt((i / 6.5) * sheet.fieldHalfMm[0], (j / 8.5) * sheet.fieldHalfMm[1]);
      if (sample && looksLikePaper(sample, first)) field.push(sample);
    }
  }
  const all = [...rim, ...field];
  const second = field.length >= 40 ? (fit(all, termCount) ?? first) : first;
  const shade: PaperShade = {
    middlePx,
    halfPx,
    coefficients: second,
    relativeSpread: medianOf(all.map((sample) => Math.abs(relativeResidual(sample, second)))) * 1.4826,
  };
  const greyOverPaper = measureGrey(photo, sheet, geometry, sight, printScale, shade);
  return greyOverPaper ? { ...shade, greyOverPaper } : shade;
}

/** Within 12 % of the rim's prediction in brightness, and of its colour within 5 %. */
function looksLikePaper({ terms, rgb }: Sample, coefficients: readonly (readonly number[])[]): boolean {
  const ratio = rgb.map((v, c) => v / dot(coefficients[c]!, terms));
  return (
    Math.abs(ratio[1]! - 1) < 0.12 &&
    Math.abs(ratio[0]! / ratio[1]! - 1) < 0.05 &&
    Math.abs(ratio[2]! / ratio[1]! - 1) < 0.05
  );
}

function dot(coefficients: readonly number[], terms: readonly number[]): number {
  let sum = 0;
  for (let i = 0; i < coefficients.length; i++) sum += coefficients[i]! * terms[i]!;
  return sum;
}

/** Of green, which carries most of the light. */
const relativeResidual = ({ terms, rgb }: Sample, coefficients: readonly (readonly number[])[]): number =>
  rgb[1] / dot(coefficients[1]!, terms) - 1;

/** Least squares with Tukey's weights, found on green and used for all three; the first `count` terms. */
function fit(samples: readonly Sample[], count: number): number[][] | undefined {
  let weights = samples.map(() => 1);
  let out: number[][] | undefined;
  for (let round = 0; round < 6; round++) {
    const normal = new Float64Array(count * count);
    const right = [0, 1, 2].map(() => new Float64Array(count));
    for (let k = 0; k < samples.length; k++) addSample(samples[k]!, weights[k]!, count, normal, right);
    // A whisper of a ridge: half a sheet does not fix every term.
    const total = weights.reduce((sum, w) => sum + w, 0);
    for (let i = 3; i < count; i++) normal[i * (count + 1)]! += 1e-4 * total;
    const factor = choleskyFactor(normal, count);
    if (!factor) return undefined;
    out = right.map((r) => {
      choleskySolve(factor, count, r);
      return [...r, ...new Array<number>(termCount - count).fill(0)];
    });
    const found = out;
    const residuals = samples.map((sample) => Math.abs(relativeResidual(sample, found)));
    const cut = 4.7 * Math.max(0.004, 1.4826 * medianOf(residuals));
    weights = residuals.map((r) => (r < cut ? (1 - (r / cut) ** 2) ** 2 : 0));
  }
  return out;
}

function addSample(
  { terms, rgb }: Sample,
  weight: number,
  count: number,
  normal: Float64Array,
  right: readonly Float64Array[],
): void {
  for (let i = 0; i < count; i++) {
    for (let j = 0; j <= i; j++) normal[i * count + j]! += weight * terms[i]! * terms[j]!;
    for (let c = 0; c < 3; c++) right[c]![i]! += weight * terms[i]! * rgb[c]!;
  }
}

/** Mean of 3 x 3 pixels, linear; undefined outside the picture. */
function meanRgb(
  { rgb, widthPx, heightPx }: Pick<Photo, "rgb" | "widthPx" | "heightPx">,
  u: number,
  v: number,
): LinearRgb | undefined {
  const column = Math.round(u);
  const row = Math.round(v);
  if (!(column >= 1 && row >= 1 && column < widthPx - 1 && row < heightPx - 1)) return undefined;
  const sum: [number, number, number] = [0, 0, 0];
  for (let y = row - 1; y <= row + 1; y++) {
    for (let x = column - 1; x <= column + 1; x++) {
      const i = 3 * (y * widthPx + x);
      for (let c = 0; c < 3; c++) sum[c]! += linearFromSrgb[rgb[i + c]!]! / 9;
    }
  }
  return sum;
}

function measureGrey(
  photo: Pick<Photo, "rgb" | "widthPx" | "heightPx">,
  { greyPatch }: Sheet,
  geometry: ViewGeometry,
  sight: Sight,
  printScale: readonly [number, number],
  shade: PaperShade,
): LinearRgb | undefined {
  const ratios: LinearRgb[] = [];
  for (const i of [-0.35, -0.2, 0, 0.2, 0.35]) {
    for (const j of [-0.2, 0, 0.2]) {
      const x = (greyPatch.centreMm[0] + i * greyPatch.widthMm) * printScale[0];
      const y = (greyPatch.centreMm[1] + j * greyPatch.heightMm) * printScale[1];
      if (!isInSight(geometry, sight, [x, y, 0])) return undefined;
      const [u, v] = pixelFromMat(geometry, x, y, 0);
      const rgb = meanRgb(photo, u, v);
      if (!rgb) return undefined;
      const paper = paperRgbAt(shade, u, v);
      ratios.push([rgb[0] / paper[0], rgb[1] / paper[1], rgb[2] / paper[2]]);
    }
  }
  const middle = [0, 1, 2].map((c) => medianOf(ratios.map((ratio) => ratio[c]!))) as [number, number, number];
  const even = ratios.every((ratio) => Math.abs(ratio[1] / middle[1] - 1) < 0.12);
  const neutral = Math.abs(middle[0] / middle[1] - 1) < 0.15 && Math.abs(middle[2] / middle[1] - 1) < 0.15;
  return even && neutral && middle[1] > 0.08 && middle[1] < 0.5 ? middle : undefined;
}
