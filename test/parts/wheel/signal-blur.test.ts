import sharp from "sharp";
import { expect, test } from "vitest";
import { learnContrast } from "../../../src/parts/contrast.js";
import { signalBlurPx } from "../../../src/parts/wheel/signal-blur.js";
import { readPhotoBytes, type Photo } from "../../../src/photo/index.js";
import type { View } from "../../../src/view/index.js";

const size = 320;
const lensPx = 0.75;
const turnRad = 0.35;
const across = (x: number, y: number): number =>
  (x - size / 2) * Math.cos(turnRad) + (y - size / 2) * Math.sin(turnRad);

/** Normal distribution, within 0.01 (logistic curve). */
const normal = (z: number): number => 1 / (1 + Math.exp(-1.702 * z));

/** An edge of metal against paper, blurred by the lens in linear light, as the file gives it back. */
async function edge(metal: readonly number[], paper: readonly number[], quality: number): Promise<Photo> {
  const rgb = Buffer.alloc(3 * size * size);
  for (let y = 0; y < size; y++)
    for (let x = 0; x < size; x++) {
      const share = normal(-across(x, y) / lensPx);
      for (let c = 0; c < 3; c++) {
        const light = share * (metal[c]! / 255) ** 2.2 + (1 - share) * (paper[c]! / 255) ** 2.2;
        rgb[3 * (y * size + x) + c] = Math.round(255 * light ** (1 / 2.2));
      }
    }
  const bytes = await sharp(rgb, { raw: { width: size, height: size, channels: 3 } })
    .jpeg({ quality, chromaSubsampling: "4:2:0" })
    .toBuffer();
  const read = await readPhotoBytes(bytes, "edge.jpg");
  if (!read.ok) throw new Error(read.problem.text);
  return read.value;
}

/** Half of the way from 84 to 16 % of the signal across the edge, px. */
function widthOf(photo: Photo, metal: readonly number[], paper: readonly number[]): [number, number] {
  const repeated = (colour: readonly number[]): number[] =>
    Array.from({ length: 300 }, (_, k) => colour[k % 3]!);
  const contrast = learnContrast(repeated(metal), repeated(paper))!;
  expect(contrast.growth).not.toBe(0);
  const perPx = 10;
  const reach = 8;
  const sum = new Float64Array(2 * reach * perPx + 1);
  const number = new Float64Array(sum.length);
  for (let y = 16; y < size - 16; y++)
    for (let x = 16; x < size - 16; x++) {
      const bin = Math.round((across(x, y) + reach) * perPx);
      if (bin < 0 || bin >= sum.length) continue;
      const p = 3 * (y * size + x);
      sum[bin]! +=
        contrast.red[photo.rgb[p]!]! + contrast.green[photo.rgb[p + 1]!]! + contrast.blue[photo.rgb[p + 2]!]!;
      number[bin]!++;
    }
  const signal = sum.map((s, i) => s / number[i]!);
  const at = (level: number): number => signal.findIndex((s) => s < level) / perPx;
  const view = { edge: { blurSigmaPx: lensPx } } as View;
  return [(at(0.16) - at(0.84)) / 2, signalBlurPx(view, photo, contrast)];
}

// Teeth measured 0.3 mm too large: a file that rounds away the detail of colour was expected as sharp as one that does not.
const paper = [214, 217, 221];
test.each([
  ["brass", 95, [180, 150, 90]],
  ["brass", 90, [180, 150, 90]],
  ["brass", 82, [180, 150, 90]],
  ["brass", 70, [180, 150, 90]],
  ["brass", 50, [180, 150, 90]],
  ["brass as light as paper", 95, [227, 200, 148]],
  ["brass as light as paper", 82, [227, 200, 148]],
  ["patina", 90, [120, 95, 60]],
  ["patina", 75, [120, 95, 60]],
] as const)("an edge of %s stored at quality %i is as soft as expected", async (_, quality, metal) => {
  const [measured, expected] = widthOf(await edge(metal, paper, quality), metal, paper);
  expect(measured).toBeGreaterThan(1);
  // Sampling between pixels, which readers of the signal add, is not in this edge: 0.4 px in square.
  expect(Math.sqrt(expected ** 2 - 0.16) / measured).toBeGreaterThan(0.87);
  expect(Math.sqrt(expected ** 2 - 0.16) / measured).toBeLessThan(1.15);
});
