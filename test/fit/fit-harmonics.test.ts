import { describe, expect, test } from "vitest";
import { fitHarmonics } from "../../src/fit/index.js";
import { seededRandom } from "../../src/quantity/index.js";
import { codeOf, valueOf } from "./points.js";

const regular = (n: number): Float64Array =>
  Float64Array.from({ length: n }, (_, i) => (2 * Math.PI * i) / n);

test("gives back mean and harmonics, from irregular angles with a gap", () => {
  const random = seededRandom(61);
  const angle = Float64Array.from({ length: 50 }, () => 5 * random.uniform());
  const value = angle.map((t) => 20 + 0.1 * Math.cos(t) - 0.05 * Math.sin(t) + 0.02 * Math.sin(3 * t));
  const fit = valueOf(fitHarmonics(angle, value, [1, 2, 3]));
  expect(fit.mean).toBeCloseTo(20, 10);
  const expected = [[1, 0.1, -0.05], [2, 0, 0], [3, 0, 0.02]]; // prettier-ignore
  expect(fit.harmonics).toHaveLength(3);
  fit.harmonics.forEach(({ order, cosine, sine }, j) => {
    expect(order).toBe(expected[j]![0]);
    expect(cosine).toBeCloseTo(expected[j]![1]!, 10);
    expect(sine).toBeCloseTo(expected[j]![2]!, 10);
  });
  expect(fit.rms).toBeLessThan(1e-12);
});

// Closed form: a circle of radius R whose centre is off the axis by e (references: none; plane geometry).
test("eccentricity signature of 60 teeth, R 20 mm, e 0.1 mm", () => {
  const [R, e, N, direction] = [20, 0.1, 60, 0.7];
  const theta = regular(N);
  const x = theta.map((t) => R * Math.cos(t) + e * Math.cos(direction));
  const y = theta.map((t) => R * Math.sin(t) + e * Math.sin(direction));
  const radius = x.map((_, i) => Math.hypot(x[i]!, y[i]!));
  const index = x.map((_, i) => {
    const turned = Math.atan2(y[i]!, x[i]!) - theta[i]!;
    return R * Math.atan2(Math.sin(turned), Math.cos(turned));
  });
  const radial = valueOf(fitHarmonics(theta, radius, [1, 2])).harmonics[0]!;
  const tangential = valueOf(fitHarmonics(theta, index, [1, 2])).harmonics[0]!;
  // Second-order terms are e/R = 0.5 % of the first-order ones.
  expect(Math.hypot(radial.cosine, radial.sine)).toBeCloseTo(e, 4);
  expect(Math.hypot(tangential.cosine, tangential.sine)).toBeCloseTo(e, 4);
  const phase = (h: { cosine: number; sine: number }): number => Math.atan2(h.sine, h.cosine);
  expect(phase(radial)).toBeCloseTo(direction, 3);
  expect(Math.abs(Math.sin(phase(radial) - phase(tangential)))).toBeCloseTo(1, 5);
  expect(Math.max(...radius) - Math.min(...radius)).toBeCloseTo(2 * e, 3);
  expect(Math.max(...index) - Math.min(...index)).toBeCloseTo(2 * e, 3);
  const steps = index.map((v, i) => Math.abs(v - index[(i + N - 1) % N]!));
  expect(Math.max(...steps) / (2 * e * Math.sin(Math.PI / N)) - 1).toBeLessThan(1.1 * (e / R));
  expect(Math.max(...steps) / (2 * e * Math.sin(Math.PI / N)) - 1).toBeGreaterThan(-1.1 * (e / R));
  expect(valueOf(fitHarmonics(theta, radius, [1, 2, 3])).mean - R).toBeCloseTo(e ** 2 / (4 * R), 7);
});

test("covariance on regular angles is u²/n for the mean and 2u²/n for each coefficient", () => {
  const angle = regular(36);
  const fit = valueOf(fitHarmonics(angle, angle.map(Math.sin), [1, 2], undefined, { uValue: 0.3 }));
  for (let i = 0; i < 5; i++) {
    for (let j = 0; j < 5; j++) {
      const expected = i === j ? ((i === 0 ? 1 : 2) * 0.09) / 36 : 0;
      expect(fit.covariance[5 * i + j]).toBeCloseTo(expected, 12);
    }
  }
});

test("covariance from residuals agrees with 2000 noisy fits, weights included", () => {
  const random = seededRandom(71);
  const angle = regular(25);
  const weights = angle.map((_, i) => (i < 10 ? 4 : 1));
  const seen = [0, 0, 0];
  const stated = [0, 0, 0];
  for (let run = 0; run < 2000; run++) {
    const value = angle.map((t, i) => 1 + Math.cos(t) + (0.2 / Math.sqrt(weights[i]!)) * random.normal());
    const fit = valueOf(fitHarmonics(angle, value, [1], weights));
    const [h] = fit.harmonics;
    [fit.mean - 1, h!.cosine - 1, h!.sine].forEach((error, j) => {
      seen[j]! += error ** 2;
      stated[j]! += fit.covariance[4 * j]!;
    });
  }
  for (let j = 0; j < 3; j++) {
    expect(seen[j]! / stated[j]!).toBeGreaterThan(0.88);
    expect(seen[j]! / stated[j]!).toBeLessThan(1.12);
  }
});

describe("what the angles cannot tell", () => {
  test("fewer values than coefficients", () => {
    expect(codeOf(fitHarmonics(regular(4), new Float64Array(4), [1, 2]))).toBe("too-few-points");
  });
  test("order 5 and 7 on 12 regular angles are aliases", () => {
    expect(codeOf(fitHarmonics(regular(12), new Float64Array(12), [5, 7]))).toBe("too-few-points");
  });
  test("as many coefficients as values show no scatter", () => {
    expect(codeOf(fitHarmonics(regular(3), Float64Array.of(1, 2, 3), [1]))).toBe("too-few-points");
    expect(fitHarmonics(regular(3), Float64Array.of(1, 2, 3), [1], undefined, { uValue: 1 }).ok).toBe(true);
  });
  test("misuse", () => {
    expect(() => fitHarmonics(regular(9), new Float64Array(8), [1])).toThrow(RangeError);
    expect(() => fitHarmonics(regular(9), new Float64Array(9), [0])).toThrow(RangeError);
    expect(() => fitHarmonics(regular(9), new Float64Array(9), [2, 2])).toThrow(RangeError);
    expect(() => fitHarmonics(regular(9), new Float64Array(9), [1.5])).toThrow(RangeError);
  });
});
