import { expect, test } from "vitest";
import { normalDistribution } from "../../src/fit/index.js";

// Abramowitz and Stegun, Handbook of Mathematical Functions, table 26.1 (from memory).
test.each([
  [0, 0.5],
  [0.5, 0.6914624613],
  [1, 0.8413447461],
  [1.96, 0.9750021049],
  [3, 0.998650102],
])("the normal distribution at %f is %f, and as much less than 1 on the other side", (z, share) => {
  expect(Math.abs(normalDistribution(z) - share)).toBeLessThan(2e-7);
  expect(Math.abs(normalDistribution(-z) - (1 - share))).toBeLessThan(2e-7);
});
