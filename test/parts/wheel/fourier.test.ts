import { expect, test } from "vitest";
import { realFourier } from "../../../src/parts/wheel/fourier.js";
import { seededRandom } from "../../../src/quantity/index.js";

// Against the sum that defines the transform.
test.each([2, 6, 16, 30, 96, 3072])("gives the sum that defines it, %i samples", (n) => {
  const random = seededRandom(n);
  const value = Float64Array.from({ length: n }, () => random.normal());
  const { re, im } = realFourier(value);
  expect(re).toHaveLength(n / 2 + 1);
  for (let k = 0; k <= n / 2; k += n > 1000 ? 37 : 1) {
    let [x, y] = [0, 0];
    for (let i = 0; i < n; i++) {
      const angle = (2 * Math.PI * ((i * k) % n)) / n;
      x += value[i]! * Math.cos(angle);
      y -= value[i]! * Math.sin(angle);
    }
    // Rounding of n terms of size 1.
    expect(re[k]).toBeCloseTo(x, 9);
    expect(im[k]).toBeCloseTo(y, 9);
  }
});

test("refuses an odd number of samples", () => {
  expect(() => realFourier(new Float64Array(3))).toThrow(RangeError);
});
