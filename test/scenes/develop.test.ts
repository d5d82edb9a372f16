import { expect, test } from "vitest";
import { develop, gaussianBlur } from "./develop.js";

const light = {
  atMm: [0, 0, 800],
  radiusMm: 1,
  ambient: 1,
  gradient: [0, 0],
  whiteBalance: [1, 1, 1],
  glare: 0,
} as const;

/** IEC 61966-2-1, decoding. */
const linearOf = (v: number): number => {
  const s = v / 255;
  return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
};

/** Abramowitz and Stegun 7.1.26; error below 1.5e-7. */
function erf(x: number): number {
  const t = 1 / (1 + 0.3275911 * Math.abs(x));
  const poly =
    t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  return Math.sign(x) * (1 - poly * Math.exp(-x * x));
}

test("blurs a step into the error function, in the middle of the picture and at its border", () => {
  const [w, h] = [64, 48];
  const values = new Float32Array(w * h * 3);
  for (let i = 0; i < values.length; i++) values[i] = Math.floor(i / 3) % w >= 32 ? 1 : 0;
  gaussianBlur(values, w, h, 3, 1.4);
  let checked = 0;
  for (const y of [0, 20, 47])
    for (let x = 24; x < 40; x++) {
      // The step lies between pixels 31 and 32. Summing a kernel that is sampled at whole pixels is the
      // midpoint rule: it narrows the step by the variance of one pixel, 1/12.
      const expected = 0.5 * (1 + erf((x - 31.5) / Math.sqrt(2 * (1.4 ** 2 - 1 / 12))));
      expect(Math.abs(values[3 * (y * w + x) + 1]! - expected)).toBeLessThan(0.0005);
      checked++;
    }
  expect(checked).toBe(48);
});

test("adds noise of the variance asked for: shot times signal plus read squared", () => {
  const [w, h] = [300, 300];
  const level = 0.4;
  const linear = new Float32Array(w * h * 3).fill(level);
  const sensor = { exposure: 1, shotNoise: 4e-4, readNoise: 0.01, sharpen: 0, jpegQuality: 0 };
  const rgb = develop(linear, w, h, { blurSigmaPx: 0, motionPx: [0, 0], vignette: 0 }, light, sensor, 3);
  let sum = 0;
  let squares = 0;
  for (const v of rgb) {
    const x = linearOf(v);
    sum += x;
    squares += x * x;
  }
  const mean = sum / rgb.length;
  const variance = squares / rgb.length - mean * mean;
  expect(mean).toBeCloseTo(level, 3);
  // 8-bit steps add little here; 270000 samples hold a variance to 0.3 %, rounding to 1 %.
  expect(variance / (4e-4 * level + 1e-4)).toBeGreaterThan(0.97);
  expect(variance / (4e-4 * level + 1e-4)).toBeLessThan(1.03);
});

test("encodes without noise to the nearest sRGB level, clips at white", () => {
  const linear = Float32Array.from([0, 0.2158605, 2, 0.001, 0.5, 1]);
  const sensor = { exposure: 1, shotNoise: 0, readNoise: 0, sharpen: 0, jpegQuality: 0 };
  const rgb = develop(linear, 2, 1, { blurSigmaPx: 0, motionPx: [0, 0], vignette: 0 }, light, sensor, 1);
  // sRGB 128 is 21.586 % in linear light; 0.001 is 12.92 x 0.001 x 255 = 3.29; 0.5 is 187.5.
  expect([...rgb].slice(0, 4)).toEqual([0, 128, 255, 3]);
  expect(Math.abs(rgb[4]! - 187.5)).toBeLessThanOrEqual(0.5);
});
