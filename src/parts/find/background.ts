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

interface Block {
  readonly x: number;
  readonly y: number;
  readonly logs: readonly [number, number, number];
  readonly weight: number;
}

/** One colour for each block of pixels: that at a chosen rank of lightness. */
function blockValues(picture: SmallPicture, where: Uint8Array, isPaper: boolean): Block[] {
  const { width, height, rgb } = picture;
  const blocks: Block[] = [];
  const index = new Int32Array(blockPx * blockPx);
  const ofGreen = new Int32Array(256);
  for (let j0 = 0; j0 < height; j0 += blockPx) {
    for (let i0 = 0; i0 < width; i0 += blockPx) {
      let count = 0;
      ofGreen.fill(0);
      for (let j = j0; j < Math.min(height, j0 + blockPx); j += 2)
        for (let i = i0; i < Math.min(width, i0 + blockPx); i += 2) {
          const p = j * width + i;
          if (!where[p]) continue;
          index[count++] = p;
          ofGreen[rgb[3 * p + 1]!]!++;
        }
      if (count < 8) continue;
      // Of the pixels in the order of their green, equal ones as they come.
      let rank = Math.floor((isPaper ? 0.8 : 0.5) * (count - 1));
      let green = 0;
      while (rank >= ofGreen[green]!) rank -= ofGreen[green++]!;
      let k = 0;
      while (rgb[3 * index[k]! + 1] !== green || rank-- > 0) k++;
      const at = 3 * index[k]!;
      const x = (i0 + blockPx / 2) / width - 0.5;
      const y = (j0 + blockPx / 2) / height - 0.5;
      // Away from paper, what reaches the frame all round is taken for the background.
      const border = Math.max(Math.abs(x), Math.abs(y)) > 0.4;
      blocks.push({
        x,
        y,
        logs: [logOf[rgb[at]!]!, logOf[rgb[at + 1]!]!, logOf[rgb[at + 2]!]!],
        weight: isPaper || border ? 1 : 0.1,
      });
    }
  }
  return blocks;
}

type Surface = readonly [Float64Array, Float64Array, Float64Array];

const basis = (x: number, y: number): [number, number, number, number, number, number] => [
  1,
  x,
  y,
  x * x,
  x * y,
  y * y,
];

function fitSurface(blocks: readonly Block[], isPaper: boolean): Surface | undefined {
  if (blocks.length < terms) return undefined;
  const weights = Float64Array.from(blocks, (b) => b.weight);
  const a = new Float64Array(terms * blocks.length);
  blocks.forEach((b, i) => a.set(basis(b.x, b.y), terms * i));
  let surface = constantStart(blocks, isPaper);
  // Tukey's weights, the cut-off drawn in step by step.
  for (const cutoff of [1.2, 0.8, 0.5, 0.35, 0.25]) {
    blocks.forEach((b, i) => {
      const q = farthest(b, a, terms * i, surface) / cutoff;
      weights[i] = q < 1 ? b.weight * (1 - q * q) ** 2 + 1e-9 : 1e-9;
    });
    const next = weightedSurface(blocks, a, weights);
    if (next === undefined) return surface;
    surface = next;
  }
  return surface;
}

/** Largest distance of a block from the surface over the colours. */
function farthest(b: Block, a: Float64Array, at: number, surface: Surface): number {
  let worst = 0;
  for (let c = 0; c < 3; c++) {
    let s = 0;
    for (let k = 0; k < terms; k++) s += surface[c]![k]! * a[at + k]!;
    worst = Math.max(worst, Math.abs(b.logs[c]! - s));
  }
  return worst;
}

/** The colours share their normal equations; over half a unit to each side these keep digits enough. */
function weightedSurface(
  blocks: readonly Block[],
  a: Float64Array,
  weights: Float64Array,
): Surface | undefined {
  const normal = new Float64Array(terms * terms);
  const rhs: Surface = [new Float64Array(terms), new Float64Array(terms), new Float64Array(terms)];
  blocks.forEach((b, i) => {
    for (let k = 0; k < terms; k++) {
      const w = weights[i]! * a[terms * i + k]!;
      for (let l = 0; l <= k; l++) normal[terms * k + l]! += w * a[terms * i + l]!;
      for (let c = 0; c < 3; c++) rhs[c]![k]! += w * b.logs[c]!;
    }
  });
  for (let k = 0; k < terms; k++) for (let l = 0; l < k; l++) normal[terms * l + k] = normal[terms * k + l]!;
  const factor = choleskyFactor(normal, terms);
  if (factor === undefined) return undefined;
  for (const b of rhs) choleskySolve(factor, terms, b);
  return rhs;
}

/** Paper: the brightest quarter; else: the weighted median. Level only, no slope. */
function constantStart(blocks: readonly Block[], isPaper: boolean): Surface {
  const chosen = [...blocks].filter((b) => isPaper || b.weight === 1).sort((p, q) => p.logs[1] - q.logs[1]);
  const from = chosen.length > 0 ? chosen : [...blocks];
  const at = from[Math.floor((isPaper ? 0.75 : 0.5) * (from.length - 1))]!;
  const level = (c: 0 | 1 | 2): Float64Array => Float64Array.of(at.logs[c], 0, 0, 0, 0, 0);
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
  for (let j = 0, p = 0; j < height; j++) {
    const y = (j + 0.5) / height - 0.5;
    // Along a row the surface is a parabola.
    const [r0, r1, r2] = alongRow(sr, y);
    const [g0, g1, g2] = alongRow(sg, y);
    const [b0, b1, b2] = alongRow(sb, y);
    for (let i = 0; i < width; i++, p++) {
      if (!where[p]) continue;
      const x = (i + 0.5) / width - 0.5;
      const r = logOf[rgb[3 * p]!]! - (r0 + x * (r1 + x * r2));
      const g = logOf[rgb[3 * p + 1]!]! - (g0 + x * (g1 + x * g2));
      const b = logOf[rgb[3 * p + 2]!]! - (b0 + x * (b1 + x * b2));
      lightness[p] = (r + g + b) / 3;
      redGreen[p] = r - g;
      greenBlue[p] = g - b;
    }
  }
  return { lightness, redGreen, greenBlue };
}

const alongRow = (s: Float64Array, y: number): [number, number, number] => [
  s[0]! + y * (s[2]! + y * s[5]!),
  s[1]! + y * s[4]!,
  s[3]!,
];
