import { solveLinearLeastSquares } from "../../fit/index.js";
import { linearFromSrgb } from "../linear-light.js";
import type { SmallPicture } from "./small-picture.js";

/**
 * The photograph compared with what the bare background would look like there: natural logarithms of ratios,
 * so that a shadow changes `lightness` alone and never `redGreen` or `greenBlue`.
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
  const logs = logChannels(picture);
  const blocks = blockValues(picture, logs, where, isPaper);
  const surface = fitSurface(blocks, isPaper);
  if (surface === undefined) return undefined;
  return subtractSurface(picture, logs, surface);
}

function logChannels(picture: SmallPicture): [Float32Array, Float32Array, Float32Array] {
  const table = linearFromSrgb.map((v) => Math.log(v + floor));
  const n = picture.width * picture.height;
  const r = new Float32Array(n);
  const g = new Float32Array(n);
  const b = new Float32Array(n);
  for (let i = 0, p = 0; i < n; i++, p += 3) {
    r[i] = table[picture.rgb[p]!]!;
    g[i] = table[picture.rgb[p + 1]!]!;
    b[i] = table[picture.rgb[p + 2]!]!;
  }
  return [r, g, b];
}

interface Block {
  readonly x: number;
  readonly y: number;
  readonly logs: readonly [number, number, number];
  readonly weight: number;
}

/** One colour for each block of pixels: that at a chosen rank of lightness. */
function blockValues(
  picture: SmallPicture,
  logs: readonly [Float32Array, Float32Array, Float32Array],
  where: Uint8Array,
  isPaper: boolean,
): Block[] {
  const { width, height } = picture;
  const blocks: Block[] = [];
  const index: number[] = [];
  for (let j0 = 0; j0 < height; j0 += blockPx) {
    for (let i0 = 0; i0 < width; i0 += blockPx) {
      index.length = 0;
      for (let j = j0; j < Math.min(height, j0 + blockPx); j += 2)
        for (let i = i0; i < Math.min(width, i0 + blockPx); i += 2)
          if (where[j * width + i]) index.push(j * width + i);
      if (index.length < 8) continue;
      index.sort((a, b) => logs[1][a]! - logs[1][b]!);
      const at = index[Math.floor((isPaper ? 0.8 : 0.5) * (index.length - 1))]!;
      const x = (i0 + blockPx / 2) / width - 0.5;
      const y = (j0 + blockPx / 2) / height - 0.5;
      // Away from paper, what reaches the frame all round is taken for the background.
      const border = Math.max(Math.abs(x), Math.abs(y)) > 0.4;
      blocks.push({
        x,
        y,
        logs: [logs[0][at]!, logs[1][at]!, logs[2][at]!],
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
      const q = residual(b, surface) / cutoff;
      weights[i] = q < 1 ? b.weight * (1 - q * q) ** 2 + 1e-9 : 1e-9;
    });
    const next: Float64Array[] = [];
    for (let c = 0; c < 3; c++) {
      const fit = solveLinearLeastSquares(
        a,
        Float64Array.from(blocks, (b) => b.logs[c]!),
        terms,
        weights,
      );
      if (!fit.ok) return surface;
      next.push(fit.value.params);
    }
    surface = [next[0]!, next[1]!, next[2]!];
  }
  return surface;
}

const residual = (b: Block, surface: Surface): number => {
  const f = basis(b.x, b.y);
  let worst = 0;
  for (let c = 0; c < 3; c++) {
    let s = 0;
    for (let k = 0; k < terms; k++) s += surface[c]![k]! * f[k]!;
    worst = Math.max(worst, Math.abs(b.logs[c]! - s));
  }
  return worst;
};

/** Paper: the brightest quarter; else: the weighted median. Level only, no slope. */
function constantStart(blocks: readonly Block[], isPaper: boolean): Surface {
  const chosen = [...blocks].filter((b) => isPaper || b.weight === 1).sort((p, q) => p.logs[1] - q.logs[1]);
  const from = chosen.length > 0 ? chosen : [...blocks];
  const at = from[Math.floor((isPaper ? 0.75 : 0.5) * (from.length - 1))]!;
  const level = (c: 0 | 1 | 2): Float64Array => Float64Array.of(at.logs[c], 0, 0, 0, 0, 0);
  return [level(0), level(1), level(2)];
}

function subtractSurface(
  picture: SmallPicture,
  logs: readonly [Float32Array, Float32Array, Float32Array],
  surface: Surface,
): AgainstBackground {
  const { width, height } = picture;
  const n = width * height;
  const lightness = new Float32Array(n);
  const redGreen = new Float32Array(n);
  const greenBlue = new Float32Array(n);
  const [sr, sg, sb] = surface;
  for (let j = 0, p = 0; j < height; j++) {
    const y = (j + 0.5) / height - 0.5;
    for (let i = 0; i < width; i++, p++) {
      const x = (i + 0.5) / width - 0.5;
      const r =
        logs[0][p]! - (sr[0]! + sr[1]! * x + sr[2]! * y + sr[3]! * x * x + sr[4]! * x * y + sr[5]! * y * y);
      const g =
        logs[1][p]! - (sg[0]! + sg[1]! * x + sg[2]! * y + sg[3]! * x * x + sg[4]! * x * y + sg[5]! * y * y);
      const b =
        logs[2][p]! - (sb[0]! + sb[1]! * x + sb[2]! * y + sb[3]! * x * x + sb[4]! * x * y + sb[5]! * y * y);
      lightness[p] = (r + g + b) / 3;
      redGreen[p] = r - g;
      greenBlue[p] = g - b;
    }
  }
  return { lightness, redGreen, greenBlue };
}
