import { expect, test } from "vitest";
import { RadialBlur } from "../../../src/parts/wheel/radial-blur.js";
import { seededRandom } from "../../../src/quantity/index.js";
import { normalBelow } from "./rim-signals.js";

/** Full up to cell 60, some of the way to 110, nothing beyond. */
const sharp = Float64Array.from({ length: 180 }, (_, i) =>
  i < 60 ? 1 : i < 110 ? 0.3 + 0.004 * (i % 7) : 0,
);

test("sums every cell under the kernel, whether or not it is full or empty", () => {
  const [perStep, reach, sigma] = [2.3, 20, 6.5];
  const blur = new RadialBlur(0, 60, perStep, reach);
  const out = new Float64Array(60);
  blur.widen(sigma);
  blur.write(sharp, 0.9, out);
  for (let j = 0; j < 60; j++) {
    const at = Math.floor(j * perStep);
    const f = j * perStep - at;
    let [sum, total] = [0, 0];
    for (let i = -reach; i <= reach; i++) {
      const w = Math.exp(-0.5 * (i / sigma) ** 2);
      sum += w * ((1 - f) * sharp[at + reach + i]! + f * sharp[at + reach + i + 1]!);
      total += w;
    }
    expect(out[j]).toBeCloseTo((0.9 * sum) / total, 12);
  }
});

test("an edge becomes the normal distribution, and a wider blur a wider one", () => {
  const edge = Float64Array.from({ length: 200 }, (_, i) => (i < 100 ? 1 : 0));
  const blur = new RadialBlur(0, 100, 1, 48);
  const out = new Float64Array(100);
  for (const sigma of [6, 11]) {
    blur.widen(sigma);
    blur.write(edge, 1, out);
    // The kernel ends at 4.4 sigma or further out, and cells are a sixth of a sigma or finer.
    for (let j = 0; j < 100; j++) expect(out[j]).toBeCloseTo(normalBelow((51.5 - j) / sigma), 3);
  }
});

test("writes only the steps that it is for", () => {
  const random = seededRandom(3);
  const out = Float64Array.from({ length: 60 }, () => random.uniform());
  const before = out.slice();
  const blur = new RadialBlur(20, 30, 2, 20);
  blur.widen(5);
  blur.write(sharp, 1, out);
  const changed = [...out.keys()].filter((j) => out[j] !== before[j]);
  expect(changed).toEqual([20, 21, 22, 23, 24, 25, 26, 27, 28, 29]);
});
