import { choleskyFactor, choleskySolve } from "../../fit/index.js";
import { linearFromSrgb } from "../linear-light.js";
import type { SmallPicture } from "./small-picture.js";

/**
 * The photograph compared with what the bare background would look like there: natural logarithms of ratios,
 * so that a shadow changes `lightness` alone and never `redGreen` or `greenBlue`. 0 where nothing is to be looked at.
 */
export interface AgainstBackground {
  readonly lightness: Float32Array;
  readonly redGreen: Float32Array;
  readonly greenBlue: Float32Array;
}

/** Keeps the logarithm of near-black pixels quiet. */
const floor = 0.004;
const blockPx = 16;
const terms = 6;

/**
 * Fits the light on the background as a smooth surface (log-linear light, second order in x and y, per channel)
 * to block values, throwing out what is no background step by step.
 *
 * @param where one byte a small pixel: 1 may be background, 0 is not to be looked at.
 * @param isPaper the background is known to be white paper: the brightest in each block is it.
 */
export function compareWithBackground(
  picture: SmallPicture,
  where: Uint8Array,
  isPaper: boolean,
): AgainstBackground | undefined {
  const blocks = blockValues(picture, where, isPaper);
  const surface = fitSurface(blocks, isPaper);
  if (surface === undefined) return undefined;
  return subtractSurface(picture, where, surface);
}

/** Logarithm of the light of a code value. */
const logOf = linearFromSrgb.map((v) => Math.log(v + floor));

/** One colour for each block of pixels: that at a chosen rank of lightness. */
interface Blocks {
  readonly count: number;
  /** Terms of the surface at each block's middle, then logarithms of its colour: rows of `terms` and of 3. */
  readonly basis: Float64Array;
  readonly logs: Float64Array;
  readonly weight: Float64Array;
}

function blockValues(picture: SmallPicture, where: Uint8Array, isPaper: boolean): Blocks {
  const { width, height, rgb } = picture;
  const most = Math.ceil(width / blockPx) * Math.ceil(height / blockPx);
  const basis = new Float64Array(terms * most);
  const logs = new Float64Array(3 * most);
  const weight = new Float64Array(most);
  let count = 0;
  const index = new Int32Array(blockPx * blockPx);
  const ofGreen = new Int32Array(256);
  for (let j0 = 0; j0 < height; j0 += blockPx)
    for (let i0 = 0; i0 < width; i0 += blockPx) {
      const pixel = pixelOfBlock(picture, where, i0, j0, isPaper, index, ofGreen);
      if (pixel < 0) continue;
      const x = (i0 + blockPx / 2) / width - 0.5;
      const y = (j0 + blockPx / 2) / height - 0.5;
      // Away from paper, what reaches the frame all round is taken for the background.
      const border = Math.max(Math.abs(x), Math.abs(y)) > 0.4;
      basis.set([1, x, y, x * x, x * y, y * y], terms * count);
      for (let c = 0; c < 3; c++) logs[3 * count + c] = logOf[rgb[3 * pixel + c]!]!;
      weight[count++] = isPaper || border ? 1 : 0.1;
    }
  return { count, basis, logs, weight };
}

/** Of the pixels of a block in the order of their green, equal ones as they come; -1 where too few are looked at. */
function pixelOfBlock(
  { width, height, rgb }: SmallPicture,
  where: Uint8Array,
  i0: number,
  j0: number,
  isPaper: boolean,
  index: Int32Array,
  ofGreen: Int32Array,
): number {
  let count = 0;
  ofGreen.fill(0);
  const [bottom, right] = [Math.min(height, j0 + blockPx), Math.min(width, i0 + blockPx)];
  for (let j = j0; j < bottom; j += 2)
    for (let i = i0; i < right; i += 2) {
      const p = j * width + i;
      if (!where[p]) continue;
      index[count++] = p;
      ofGreen[rgb[3 * p + 1]!]!++;
    }
  if (count < 8) return -1;
  let rank = Math.floor((isPaper ? 0.8 : 0.5) * (count - 1));
  let green = 0;
  while (rank >= ofGreen[green]!) rank -= ofGreen[green++]!;
  let k = 0;
  while (rgb[3 * index[k]! + 1] !== green || rank-- > 0) k++;
  return index[k]!;
}

type Surface = readonly [Float64Array, Float64Array, Float64Array];

function fitSurface(blocks: Blocks, isPaper: boolean): Surface | undefined {
  if (blocks.count < terms) return undefined;
  const weights = new Float64Array(blocks.count);
  let surface = constantStart(blocks, isPaper);
  // Tukey's weights, the cut-off drawn in step by step.
  for (const cutoff of [1.2, 0.8, 0.5, 0.35, 0.25]) {
    weighBlocks(blocks, surface, cutoff, weights);
    const next = weightedSurface(blocks, weights);
    if (next === undefined) return surface;
    surface = next;
  }
  return surface;
}

function weighBlocks(blocks: Blocks, surface: Surface, cutoff: number, weights: Float64Array): void {
  for (let i = 0; i < weights.length; i++) {
    const q = farthest(blocks.logs, blocks.basis, i, surface) / cutoff;
    weights[i] = q < 1 ? blocks.weight[i]! * (1 - q * q) ** 2 + 1e-9 : 1e-9;
  }
}

/** Largest distance of a block from the surface over the colours. */
function farthest(logs: Float64Array, basis: Float64Array, block: number, surface: Surface): number {
  let worst = 0;
  for (let c = 0; c < 3; c++) {
    let s = 0;
    for (let k = 0; k < terms; k++) s += surface[c]![k]! * basis[terms * block + k]!;
    worst = Math.max(worst, Math.abs(logs[3 * block + c]! - s));
  }
  return worst;
}

/** The colours share their normal equations; over half a unit to each side these keep digits enough. */
function weightedSurface({ basis, logs }: Blocks, weights: Float64Array): Surface | undefined {
  const normal = new Float64Array(terms * terms);
  const rhs: Surface = [new Float64Array(terms), new Float64Array(terms), new Float64Array(terms)];
  for (let i = 0; i < weights.length; i++) addBlock(basis, logs, i, weights[i]!, normal, rhs);
  for (let k = 0; k < terms; k++) for (let l = 0; l < k; l++) normal[terms * l + k] = normal[terms * k + l]!;
  const factor = choleskyFactor(normal, terms);
  if (factor === undefined) return undefined;
  for (const b of rhs) choleskySolve(factor, terms, b);
  return rhs;
}

function addBlock(
  basis: Float64Array,
  logs: Float64Array,
  block: number,
  weight: number,
  normal: Float64Array,
  rhs: Surface,
): void {
  for (let k = 0; k < terms; k++) {
    const w = weight * basis[terms * block + k]!;
    for (let l = 0; l <= k; l++) normal[terms * k + l]! += w * basis[terms * block + l]!;
    for (let c = 0; c < 3; c++) rhs[c]![k]! += w * logs[3 * block + c]!;
  }
}

/** Paper: the brightest quarter; else: the weighted median. Level only, no slope. */
function constantStart({ count, logs, weight }: Blocks, isPaper: boolean): Surface {
  const all = Array.from({ length: count }, (_, i) => i);
  const chosen = all
    .filter((i) => isPaper || weight[i] === 1)
    .sort((p, q) => logs[3 * p + 1]! - logs[3 * q + 1]!);
  const from = chosen.length > 0 ? chosen : all;
  const at = from[Math.floor((isPaper ? 0.75 : 0.5) * (from.length - 1))]!;
  const level = (c: 0 | 1 | 2): Float64Array => Float64Array.of(logs[3 * at + c]!, 0, 0, 0, 0, 0);
  return [level(0), level(1), level(2)];
}

function subtractSurface(
  { width, height, rgb }: SmallPicture,
  where: Uint8Array,
  [sr, sg, sb]: Surface,
): AgainstBackground {
  const n = width * height;
  const lightness = new Float32Array(n);
  const redGreen = new Float32Array(n);
  const greenBlue = new Float32Array(n);
  const against = { lightness, redGreen, greenBlue };
  const row = new Float64Array(9);
  for (let j = 0; j < height; j++) {
    const y = (j + 0.5) / height - 0.5;
    [sr, sg, sb].forEach((surface, c) => writeAlongRow(surface, y, row, 3 * c));
    subtractRow(rgb, where, row, j * width, width, against);
  }
  return against;
}

/** Along a row the surface is a parabola. */
function writeAlongRow(s: Float64Array, y: number, out: Float64Array, at: number): void {
  out[at] = s[0]! + y * (s[2]! + y * s[5]!);
  out[at + 1] = s[1]! + y * s[4]!;
  out[at + 2] = s[3]!;
}

function subtractRow(
  rgb: Uint8Array,
  where: Uint8Array,
  row: Float64Array,
  first: number,
  width: number,
  { lightness, redGreen, greenBlue }: AgainstBackground,
): void {
  for (let i = 0, p = first; i < width; i++, p++) {
    if (!where[p]) continue;
    const x = (i + 0.5) / width - 0.5;
    const r = logOf[rgb[3 * p]!]! - (row[0]! + x * (row[1]! + x * row[2]!));
    const g = logOf[rgb[3 * p + 1]!]! - (row[3]! + x * (row[4]! + x * row[5]!));
    const b = logOf[rgb[3 * p + 2]!]! - (row[6]! + x * (row[7]! + x * row[8]!));
    lightness[p] = (r + g + b) / 3;
    redGreen[p] = r - g;
    greenBlue[p] = g - b;
  }
}
