import { expect, test } from "vitest";
import { coverageVerdict, errorStatistics } from "./error-statistics.js";

// Closed form: 3, -4 have mean -1/2, mean square 25/2.
test("works out bias, rms and the largest error", () => {
  const statistics = errorStatistics([{ error: 3 }, { error: -4 }])!;
  expect(statistics.count).toBe(2);
  expect(statistics.bias).toBe(-0.5);
  expect(statistics.rms).toBeCloseTo(Math.sqrt(12.5), 12);
  expect(statistics.largest).toBe(4);
  expect(statistics.stated).toBe(0);
});

test("counts a value as covered up to twice its standard uncertainty, on either side", () => {
  const errors = [0.2, -0.2, 0.2000001, -0.3].map((error) => ({ error, u: 0.1 }));
  const { stated, covered } = errorStatistics([...errors, { error: 9 }])!;
  expect([stated, covered]).toEqual([4, 2]);
});

test("asks a bar only where it applies, and of the amount", () => {
  const { barred, withinBar } = errorStatistics([
    { error: -0.03, allowed: 0.03 },
    { error: -0.031, allowed: 0.03 },
    { error: 5 },
  ])!;
  expect([barred, withinBar]).toEqual([2, 1]);
});

test("has no statistics of no errors", () => {
  expect(errorStatistics([])).toBeUndefined();
});

test("judges coverage by 90 % to 99 %, and not on a handful of cases", () => {
  expect(coverageVerdict({ stated: 0, covered: 0 })).toBe("");
  expect(coverageVerdict({ stated: 9, covered: 9 })).toBe("too few to tell");
  expect(coverageVerdict({ stated: 10, covered: 9 })).toBe("met");
  expect(coverageVerdict({ stated: 20, covered: 17 })).toBe("not met");
  expect(coverageVerdict({ stated: 20, covered: 20 })).toBe("met");
  expect(coverageVerdict({ stated: 200, covered: 198 })).toBe("met");
  expect(coverageVerdict({ stated: 200, covered: 199 })).toBe("not met (too wide)");
});

// 95 % intervals of normal errors: the share inside 2 u is 0.9545 (closed form: erf(sqrt 2)).
test("finds 95 in 100 of evenly spread normal errors inside", () => {
  const n = 1000;
  const errors = Array.from({ length: n }, (_, i) => ({ error: normalQuantile((i + 0.5) / n), u: 1 }));
  const { covered, rms } = errorStatistics(errors)!;
  // Both ends may be off by one case.
  expect(Math.abs(covered - 0.9545 * n)).toBeLessThanOrEqual(2);
  expect(rms).toBeCloseTo(1, 2);
});

/** By bisection of the normal distribution function, itself by Simpson's rule. */
function normalQuantile(p: number): number {
  const below = (x: number): number => {
    const steps = 200;
    const h = x / steps;
    let sum = 1 + Math.exp((-x * x) / 2);
    for (let i = 1; i < steps; i++) sum += (i % 2 === 1 ? 4 : 2) * Math.exp(-((i * h) ** 2) / 2);
    return 0.5 + (sum * h) / 3 / Math.sqrt(2 * Math.PI);
  };
  let [low, high] = [-6, 6];
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (below(middle) < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
