import { expect, test } from "vitest";
import { codeFromLinear, linearFromSrgb } from "../../../src/parts/linear-light.js";
import { learnSharpness, unsharpen } from "../../../src/parts/plate/learn-sharpness.js";
import type { Photo } from "../../../src/photo/index.js";
import type { View } from "../../../src/view/index.js";

const blurPx = 0.75;

/** Abramowitz and Stegun 7.1.26: within 2e-7, and not the product's approximation. */
function normal(z: number): number {
  const t = 1 / (1 + (0.3275911 * Math.abs(z)) / Math.SQRT2);
  const p = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  const erf = 1 - p * Math.exp((-z * z) / 2);
  return z < 0 ? (1 - erf) / 2 : (1 + erf) / 2;
}

function gaussian(values: Float64Array, width: number, sigma: number): Float64Array {
  const weights = [...Array(11).keys()].map((i) => Math.exp(-0.5 * ((i - 5) / sigma) ** 2));
  const sum = weights.reduce((a, b) => a + b, 0);
  const pass = (from: Float64Array, step: number): Float64Array =>
    from.map((_, i) =>
      weights.reduce(
        (v, w, j) => v + (w / sum) * from[Math.max(0, Math.min(from.length - 1, i + (j - 5) * step))]!,
        0,
      ),
    );
  return pass(pass(values, 1), width);
}

/** Black squares on white paper, blurred by the lens, sharpened by the camera. */
function squares(amount: number, neighbourhoodPx: number, paper = 0.7): { photo: Photo; view: View } {
  const [width, height, side, gap] = [620, 130, 80, 25.3];
  const corners = [0, 1, 2, 3, 4].map((k) => {
    const [x, y] = [gap + k * (side + gap), 24.6];
    return [
      [x, y],
      [x + side, y],
      [x + side, y + side],
      [x, y + side],
    ] as const;
  });
  const inside = (v: number, from: number): number =>
    normal((v - from) / blurPx) - normal((v - from - side) / blurPx);
  const codes = new Float64Array(width * height);
  for (let v = 0; v < height; v++)
    for (let u = 0; u < width; u++) {
      const dark = corners.reduce((sum, c) => sum + inside(u, c[0][0]) * inside(v, c[0][1]), 0);
      codes[v * width + u] = codeFromLinear(paper - (paper - 0.04) * dark);
    }
  const soft = gaussian(codes, width, neighbourhoodPx);
  const rgb = new Uint8ClampedArray(3 * codes.length);
  codes.forEach((code, i) => rgb.fill(Math.round(code + amount * (code - soft[i]!)), 3 * i, 3 * i + 3));
  const photo = { rgb, widthPx: width, heightPx: height } as unknown as Photo;
  const markers = corners.map((cornersPx, id) => ({ id, cornersPx }));
  const view = { edge: { blurSigmaPx: 0.5 }, mat: { markers } } as unknown as View;
  return { photo, view };
}

test("blur and sharpening are told apart by the edges of the markers", () => {
  for (const [amount, neighbourhoodPx] of [
    [0, 1],
    [0.5, 1.25],
    [0.9, 1.5],
  ] as const) {
    const { photo, view } = squares(amount, neighbourhoodPx);
    const found = learnSharpness(photo, view);
    expect(Math.abs(found.blurPx - blurPx)).toBeLessThan(0.09);
    expect(Math.abs(found.amount - amount)).toBeLessThan(0.26);
  }
});

test("a halo that white paper cuts off is not taken for a weaker one", () => {
  const [amount, neighbourhoodPx] = [1, 1.5];
  const { photo, view } = squares(amount, neighbourhoodPx, 0.96);
  const found = learnSharpness(photo, view);
  expect(Math.abs(found.amount - amount)).toBeLessThan(0.26);
});

test("without markers nothing is taken off", () => {
  const { photo, view } = squares(0.5, 1.25);
  expect(learnSharpness(photo, { ...view, mat: { ...view.mat!, markers: [] } })).toEqual({
    blurPx: 0.5,
    amount: 0,
    neighbourhoodPx: 1,
  });
});

test.each([
  ["is as it was", 1],
  ["is as it was, where red was at its top and only green and blue could show it", 0.7],
])("a line of light that was sharpened %s", (_, share) => {
  const plain = Float64Array.from({ length: 80 }, (_, i) => 0.1 + 0.5 * normal((i - 40) / 1.6));
  const code = plain.map(codeFromLinear);
  const soft = gaussian(code, 0, 2.5);
  const freeShare = code.map((_, i) => (i > 41 ? share : 1));
  const sharp = code.map((v, i) => v + 0.6 * freeShare[i]! * (v - soft[i]!));
  const light = sharp.map((v) => {
    const k = Math.floor(v);
    return 2 * (linearFromSrgb[k]! + (v - k) * (linearFromSrgb[k + 1]! - linearFromSrgb[k]!));
  });
  const off = (line: Float64Array): number =>
    Math.max(...plain.slice(20, 60).map((v, i) => Math.abs(line[20 + i]! - 2 * v)));
  expect(off(light)).toBeGreaterThan(0.03);
  unsharpen(light, 2, { blurPx: 0.8, amount: 0.6, neighbourhoodPx: 1.25 }, 0.5, freeShare);
  expect(off(light)).toBeLessThan(0.008);
});
