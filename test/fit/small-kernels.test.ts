import { describe, expect, test } from "vitest";
import { choleskyFactor, invertSymmetric, medianOf, robustScale, weightedMean } from "../../src/fit/index.js";
import { decomposeInPlace, newSingularValues } from "../../src/fit/singular-values.js";
import { leastOverPlane } from "../../src/fit/least-over-plane.js";
import { smallestEnclosingCircle } from "../../src/fit/smallest-enclosing-circle.js";
import { seededRandom } from "../../src/quantity/index.js";
import { flat } from "./points.js";

describe("Cholesky", () => {
  const a = Float64Array.of(4, 2, -2, 2, 10, 2, -2, 2, 5);
  test("factor by hand", () => {
    expect([...choleskyFactor(a, 3)!]).toEqual([2, 0, 0, 1, 3, 0, -1, 1, Math.sqrt(3)]);
  });
  test("inverse times matrix is the unit matrix", () => {
    const inverse = invertSymmetric(a, 3)!;
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++) {
        let sum = 0;
        for (let k = 0; k < 3; k++) sum += inverse[3 * i + k]! * a[3 * k + j]!;
        expect(sum).toBeCloseTo(i === j ? 1 : 0, 13);
      }
  });
  test("indefinite, singular and NaN matrices have none", () => {
    for (const matrix of [
      [1, 2, 2, 1],
      [1, 1, 1, 1],
      [0, 0, 0, 0],
      [NaN, 0, 0, 1],
    ]) {
      expect(choleskyFactor(Float64Array.from(matrix), 2)).toBeUndefined();
      expect(invertSymmetric(Float64Array.from(matrix), 2)).toBeUndefined();
    }
  });
});

test("singular values of the 4 x 4 Hilbert matrix", () => {
  // Closed form: product of the singular values = determinant 1/6048000; sum of squares = sum of squared elements.
  const svd = newSingularValues(4);
  let squares = 0;
  for (let i = 0; i < 4; i++)
    for (let j = 0; j < 4; j++) {
      svd.u[4 * j + i] = 1 / (i + j + 1);
      squares += 1 / (i + j + 1) ** 2;
    }
  decomposeInPlace(svd, 4);
  expect(svd.sigma.reduce((a, b) => a * b) * 6048000).toBeCloseTo(1, 10);
  expect(svd.sigma.reduce((a, b) => a + b * b, 0)).toBeCloseTo(squares, 13);
  for (let i = 0; i < 4; i++)
    for (let j = 0; j < 4; j++) {
      let back = 0;
      for (let k = 0; k < 4; k++) back += svd.u[4 * k + i]! * svd.sigma[k]! * svd.v[4 * k + j]!;
      expect(back).toBeCloseTo(1 / (i + j + 1), 14);
    }
});

test("exchange finds the least point of many planes, against a grid", () => {
  const random = seededRandom(101);
  for (let run = 0; run < 6; run++) {
    const planes = Array.from({ length: 30 }, () => ({
      gx: 2 * random.uniform() - 1,
      gy: 2 * random.uniform() - 1,
      value: random.normal(),
    }));
    const highest = (x: number, y: number): (typeof planes)[number] =>
      planes.reduce((a, b) => (b.value + b.gx * x + b.gy * y > a.value + a.gx * x + a.gy * y ? b : a));
    const least = leastOverPlane({ deepestCut: highest }, 4, 1e-13);
    const top = highest(least.x, least.y);
    expect(top.value + top.gx * least.x + top.gy * least.y).toBeCloseTo(least.value, 11);
    // Reach is the distance of the sides of the triangle: the disc of that radius lies inside it.
    let looked = 0;
    for (let i = -20; i <= 20; i++)
      for (let j = -20; j <= 20; j++) {
        if (i * i + j * j > 400) continue;
        looked++;
        const cut = highest(i / 5, j / 5);
        expect(cut.value + (cut.gx * i) / 5 + (cut.gy * j) / 5).toBeGreaterThanOrEqual(least.value - 1e-11);
      }
    expect(looked).toBe(1257);
  }
});

describe("smallest enclosing circle", () => {
  test("one point, two points, an obtuse and an equilateral triangle", () => {
    expect(smallestEnclosingCircle(Float64Array.of(3, 4))).toEqual({ x: 3, y: 4, radius: 0 });
    expect(smallestEnclosingCircle(Float64Array.of(0, 0, 6, 8))).toEqual({ x: 3, y: 4, radius: 5 });
    // Obtuse: the long side is the diameter.
    const obtuse = smallestEnclosingCircle(
      flat([
        [0, 0],
        [10, 0],
        [4, 1],
      ]),
    );
    expect([obtuse.x, obtuse.y, obtuse.radius]).toEqual([5, 0, 5]);
    const side = smallestEnclosingCircle(
      flat([
        [0, 0],
        [1, 0],
        [0.5, Math.sqrt(3) / 2],
      ]),
    );
    expect(side.radius).toBeCloseTo(1 / Math.sqrt(3), 13);
  });
  test("collinear and repeated points", () => {
    const circle = smallestEnclosingCircle(
      flat([
        [1, 1],
        [2, 2],
        [2, 2],
        [5, 5],
        [1, 1],
        [3, 3],
      ]),
    );
    expect(circle.x).toBeCloseTo(3, 13);
    expect(circle.radius).toBeCloseTo(2 * Math.SQRT2, 13);
  });
});

describe("robust scale and means", () => {
  test("1.4826 times the median absolute deviation; one far value changes nothing", () => {
    expect(robustScale([1, 2, 3, 4, 5])).toBeCloseTo(1.4826, 4);
    expect(robustScale([1, 2, 3, 4, 5e6])).toBeCloseTo(1.4826, 4);
  });
  test("estimates the standard deviation of normal values", () => {
    const random = seededRandom(111);
    // Standard deviation of this estimate: 1.17/sqrt(n) = 0.4 %.
    expect(robustScale(Float64Array.from({ length: 100_000 }, () => 3 * random.normal())) / 3).toBeCloseTo(
      1,
      1,
    );
  });
  test("median of odd and even counts; none is misuse", () => {
    expect(medianOf([3, 1, 2])).toBe(2);
    expect(medianOf([4, 1, 3, 2])).toBe(2.5);
    expect(() => medianOf([])).toThrow(RangeError);
    expect(() => robustScale([])).toThrow(RangeError);
  });
  test("weighted mean, by hand", () => {
    const { mean, u, chiSquared } = weightedMean([10, 13], [4, 1]);
    expect(mean).toBeCloseTo(10.6, 12);
    expect(u).toBeCloseTo(1 / Math.sqrt(5), 12);
    expect(chiSquared).toBeCloseTo(4 * 0.36 + 5.76, 12);
  });
  test("no values, no weight, lengths that differ: misuse", () => {
    expect(() => weightedMean([])).toThrow(RangeError);
    expect(() => weightedMean([1, 2], [0, 0])).toThrow(RangeError);
    expect(() => weightedMean([1, 2], [1])).toThrow(RangeError);
  });
});
