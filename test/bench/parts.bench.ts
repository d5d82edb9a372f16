import { bench, describe } from "vitest";
import { fitCircleRobust, medianOf } from "../../src/fit/index.js";
import { findPatches } from "../../src/parts/find/patches.js";
import { fitMeanTooth } from "../../src/parts/wheel/fit-mean-tooth.js";
import { spectrumOf } from "../../src/parts/wheel/spectrum.js";
import { seededRandom } from "../../src/quantity/index.js";

const random = seededRandom(1);

describe("a rim", () => {
  const tips = new Float64Array(720);
  for (let i = 0; i < 360; i++) {
    const r = 20 + 0.02 * random.normal() + (i < 30 ? 1 : 0);
    tips[2 * i] = r * Math.cos((2 * Math.PI * i) / 360);
    tips[2 * i + 1] = r * Math.sin((2 * Math.PI * i) / 360);
  }
  bench("circle through 360 points, 30 of them wrong", () => void fitCircleRobust(tips));

  const signal = Float64Array.from({ length: 6144 }, (_, i) => Math.sin((2 * Math.PI * 78 * i) / 6144));
  const seen = new Uint8Array(6144).fill(1);
  bench("spectrum of 6144 samples, 400 harmonics", () => void spectrumOf(signal, seen, 400));
  bench("median of 6144 values", () => void medianOf(signal));
});

describe("teeth", () => {
  const [rows, columns] = [60, 16];
  // Half a tooth that narrows, its edges soft over three cells.
  const value = Float64Array.from({ length: rows * columns }, (_, i) => {
    const x = (Math.floor(i / columns) - 12) / 36;
    const half = x < 0 ? columns : x > 1 ? 0 : 0.48 * columns * (1 - Math.max(0, x - 0.5) ** 1.5);
    return Math.min(1, Math.max(0, 0.5 + (half - (i % columns) - 0.5) / 3));
  });
  const mean = { value, rows, columns, fromMm: 18.2, stepMm: 0.075, pitchRad: 0.1 };
  bench("tip and root of the mean tooth", () => {
    fitMeanTooth(mean, { tipMm: 21.6, rootMm: 19.2 }, { sigmaMm: 0.1, uMm: 0.01 }, 0.02);
  });
});

describe("a small picture", () => {
  const [width, height] = [1000, 750];
  const mask = new Uint8Array(width * height);
  for (let k = 0; k < 8; k++)
    for (let j = 0; j < height; j++)
      for (let i = 0; i < width; i++)
        if (Math.hypot(i - 130 - 240 * (k % 4), j - 190 - 370 * (k >> 2)) < 100) mask[j * width + i] = 255;
  bench("patches of eight wheels", () => void findPatches({ width, height }, { mask }, 9));
});
