import { describe, expect, test } from "vitest";
import { fitCircle, fitCircleRobust } from "../../src/fit/index.js";
import { seededRandom } from "../../src/quantity/index.js";
import { arcPoints, codeOf, flat, valueOf } from "./points.js";

const truth = { x: 30, y: -12, radius: 20 };

/** Tooth tips of which the first `broken` have lost 0.3 to 2 mm. */
function brokenTips(broken: number, seed: number): Float64Array {
  const random = seededRandom(seed);
  const points = arcPoints({ ...truth, count: 60 }, 0.01, random);
  for (let i = 0; i < broken; i++) {
    const share = 1 - (0.3 + 1.7 * random.uniform()) / truth.radius;
    points[2 * i] = truth.x + share * (points[2 * i]! - truth.x);
    points[2 * i + 1] = truth.y + share * (points[2 * i + 1]! - truth.y);
  }
  return points;
}

test.each([1, 6, 15, 24])("leaves out %i of 60 tips that are broken, side by side", (broken) => {
  for (let seed = 1; seed <= 10; seed++) {
    const points = brokenTips(broken, seed);
    const fit = valueOf(fitCircleRobust(points));
    // 5 u of the intact tips: u = 0.01 sqrt(2/36), larger for a missing arc.
    const tolerance = 5 * Math.sqrt(fit.covariance[0]! + fit.covariance[4]!);
    expect(tolerance).toBeLessThan(0.03);
    expect(Math.hypot(fit.x - truth.x, fit.y - truth.y)).toBeLessThan(tolerance);
    expect([...fit.weights.subarray(0, broken)].every((w) => w === 0)).toBe(true);
    expect(fit.weights.subarray(broken).filter((w) => w > 0.3).length).toBeGreaterThan(0.9 * (60 - broken));
    expect(fit.scale).toBeGreaterThan(0.005);
    expect(fit.scale).toBeLessThan(0.02);
  }
});

test("the plain fit is spoilt by the same tips", () => {
  const fit = valueOf(fitCircle(brokenTips(6, 1)));
  expect(Math.hypot(fit.x - truth.x, fit.y - truth.y)).toBeGreaterThan(0.1);
});

describe("stated covariance against 600 noisy fits", () => {
  test.each([
    ["u from residuals, no outliers", undefined, 0],
    ["u stated, no outliers", 0.01, 0],
    ["u from residuals, 5 of 50 far off", undefined, 5],
  ])("%s", (_, uPointMm, outliers) => {
    const random = seededRandom(21);
    const seen = [0, 0, 0];
    const stated = [0, 0, 0];
    const runs = 600;
    for (let run = 0; run < runs; run++) {
      const points = arcPoints({ ...truth, count: 50 }, 0.01, random);
      for (let k = 0; k < outliers; k++) points[20 * k]! += 1;
      const fit = valueOf(fitCircleRobust(points, uPointMm === undefined ? {} : { uPointMm }));
      [fit.x - truth.x, fit.y - truth.y, fit.radius - truth.radius].forEach((error, j) => {
        seen[j]! += error ** 2 / runs;
        stated[j]! += fit.covariance[4 * j]! / runs;
      });
    }
    // 6 % (k = 1) from the number of runs, and 5 % for the asymptotic formula at 50 points.
    for (let j = 0; j < 3; j++) {
      expect(seen[j]! / stated[j]!).toBeGreaterThan(0.8);
      expect(seen[j]! / stated[j]!).toBeLessThan(1.25);
    }
  });
});

test("points exactly on a circle, with one off, give that circle", () => {
  const points = arcPoints({ ...truth, count: 20 });
  points[0]! += 3;
  const fit = valueOf(fitCircleRobust(points));
  expect(fit.x).toBeCloseTo(truth.x, 9);
  expect(fit.radius).toBeCloseTo(truth.radius, 9);
  expect(fit.weights[0]).toBe(0);
});

test("gives the same result twice", () => {
  const points = brokenTips(15, 3);
  expect(fitCircleRobust(points)).toEqual(fitCircleRobust(points));
});

test("degenerate points: none, two, collinear", () => {
  expect(codeOf(fitCircleRobust(flat([])))).toBe("too-few-points");
  expect(
    codeOf(
      fitCircleRobust(
        flat([
          [0, 0],
          [1, 1],
        ]),
      ),
    ),
  ).toBe("too-few-points");
  expect(
    codeOf(
      fitCircleRobust(
        flat([
          [0, 0],
          [1, 1],
          [2, 2],
          [5, 5],
        ]),
      ),
    ),
  ).toBe("points-on-a-line");
  expect(() => fitCircleRobust(new Float64Array(3))).toThrow(RangeError);
  expect(() => fitCircleRobust(arcPoints({ count: 9 }), { cutoff: 0 })).toThrow(RangeError);
});

test("three points show no scatter: too few, unless their uncertainty is stated", () => {
  const three = arcPoints({ ...truth, count: 3 });
  expect(codeOf(fitCircleRobust(three))).toBe("too-few-points");
  const fit = valueOf(fitCircleRobust(three, { uPointMm: 0.01 }));
  expect(fit.radius).toBeCloseTo(truth.radius, 8);
  // Closed form u²/n, by the biweight's efficiency of 95 %.
  expect(fit.covariance[8]).toBeCloseTo(1e-4 / 3 / 0.95, 6);
});
