import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { fitCircle, guessCircle } from "../../src/fit/index.js";
import { seededRandom } from "../../src/quantity/index.js";
import reference from "../reference/circle-fits/circle-fits.json" with { type: "json" };
import { arcPoints, codeOf, flat, valueOf } from "./points.js";

const gander = reference.ganderGolubStrebelCircle;

// Source: Gander, Golub, Strebel, BIT 34 (1994); results as published with N. Chernov's benchmark, 6 decimals.
describe("the six points of Gander, Golub and Strebel", () => {
  const points = flat(gander.points);

  test("geometric fit", () => {
    const fit = valueOf(fitCircle(points));
    // Their last printed digit differs from the recomputed one by 2.
    expect(fit.x).toBeCloseTo(gander.geometric.centre[0]!, 5);
    expect(fit.y).toBeCloseTo(gander.geometric.centre[1]!, 5);
    expect(fit.radius).toBeCloseTo(gander.geometric.radius, 5);
    expect(fit.rms).toBeCloseTo(gander.geometric.sigma, 7);
  });

  test.each(["hyper", "taubin", "pratt"] as const)("%s fit", (constraint) => {
    const circle = valueOf(guessCircle(points, { constraint }));
    expect(circle.x).toBeCloseTo(gander[constraint].centre[0]!, 6);
    expect(circle.y).toBeCloseTo(gander[constraint].centre[1]!, 6);
    expect(circle.radius).toBeCloseTo(gander[constraint].radius, 6);
  });
});

// Source: null-space construction (Cox and Forbes), see SOURCE.md: the stated circle is exact.
test.each(reference.exactCircles.map((set) => [set.name, set] as const))(
  "finds the exact circle: %s",
  (name, set) => {
    const fit = valueOf(fitCircle(flat(set.points)));
    // Input digits allow 1e-8 of the radius; the short arc magnifies rounding ten times.
    const tolerance = (name.startsWith("30") ? 1e-7 : 1e-8) * set.radius;
    expect(Math.abs(fit.x - set.centre[0]!)).toBeLessThan(tolerance);
    expect(Math.abs(fit.y - set.centre[1]!)).toBeLessThan(tolerance);
    expect(Math.abs(fit.radius - set.radius)).toBeLessThan(tolerance);
    expect(fit.rms).toBeCloseTo(set.rmsResidual, 10);
  },
);

test("covariance of a full circle of n points is 2u²/n, 2u²/n, u²/n", () => {
  // Closed form: the columns cos, sin, 1 are orthogonal over a regular polygon.
  const fit = valueOf(fitCircle(arcPoints({ x: 7, y: -3, radius: 20, count: 50 }), { uPointMm: 0.03 }));
  const expected = [2, 0, 0, 0, 2, 0, 0, 0, 1].map((c) => (c * 0.03 ** 2) / 50);
  fit.covariance.forEach((c, i) => expect(c).toBeCloseTo(expected[i]!, 12));
});

describe("stated covariance against 2000 noisy fits", () => {
  test.each([
    ["full circle", 2 * Math.PI],
    ["60 degree arc", Math.PI / 3],
  ])("%s", (_, toRad) => {
    const random = seededRandom(11);
    const truth = { x: 4, y: 9, radius: 15 };
    let runs = 0;
    const sums = { stated: [0, 0, 0], seen: [0, 0, 0], chi: 0 };
    for (; runs < 2000; runs++) {
      const fit = valueOf(fitCircle(arcPoints({ ...truth, count: 40, toRad }, 0.01, random)));
      [fit.x - truth.x, fit.y - truth.y, fit.radius - truth.radius].forEach((error, j) => {
        sums.seen[j]! += error ** 2;
        sums.stated[j]! += fit.covariance[4 * j]!;
      });
    }
    expect(runs).toBe(2000);
    // A variance from 2000 runs is known to 3 % (k = 1).
    sums.seen.forEach((seen, j) => {
      expect(seen / sums.stated[j]!).toBeGreaterThan(0.88);
      expect(seen / sums.stated[j]!).toBeLessThan(1.12);
    });
  });
});

test("six points: the scatter counts three degrees of freedom, not six", () => {
  const random = seededRandom(12);
  let stated = 0;
  for (let run = 0; run < 1000; run++) {
    stated += valueOf(fitCircle(arcPoints({ radius: 15, count: 6 }, 0.01, random))).covariance[8]! / 1000;
  }
  // u²/n; a mean of 1000 variances of 3 degrees of freedom each is known to 2.6 % (k = 1).
  expect(stated / (1e-4 / 6)).toBeGreaterThan(0.9);
  expect(stated / (1e-4 / 6)).toBeLessThan(1.1);
});

test("weights act like repeated points", () => {
  const points = arcPoints({ count: 12, radius: 3 }, 0.1);
  const weights = Float64Array.from({ length: 12 }, (_, i) => (i % 3) + 1);
  const repeated: number[] = [];
  weights.forEach((w, i) => {
    for (let k = 0; k < w; k++) repeated.push(points[2 * i]!, points[2 * i + 1]!);
  });
  const weighted = valueOf(fitCircle(points, { weights, uPointMm: 1 }));
  const plain = valueOf(fitCircle(Float64Array.from(repeated), { uPointMm: 1 }));
  expect(weighted.x).toBeCloseTo(plain.x, 9);
  expect(weighted.radius).toBeCloseTo(plain.radius, 9);
  expect(weighted.rms).toBeCloseTo(plain.rms, 9);
  weighted.covariance.forEach((c, i) => expect(c).toBeCloseTo(plain.covariance[i]!, 9));
});

test("turns, moves and scales with its points", () => {
  const points = arcPoints({ x: 1, y: 2, radius: 5, count: 25, toRad: 4 }, 0.2);
  const before = valueOf(fitCircle(points));
  fc.assert(
    fc.property(
      fc.double({ min: -Math.PI, max: Math.PI, noNaN: true }),
      fc.double({ min: -1e3, max: 1e3, noNaN: true }),
      fc.double({ min: 1e-3, max: 1e3, noNaN: true }),
      (angle, shift, scale) => {
        const c = scale * Math.cos(angle);
        const s = scale * Math.sin(angle);
        const moved = points.map((_, i) => {
          const [x, y] = [points[i & ~1]!, points[i | 1]!];
          return shift + (i % 2 === 0 ? c * x - s * y : s * x + c * y);
        });
        const after = valueOf(fitCircle(moved));
        const tolerance = 1e-8 * scale + 1e-11 * Math.abs(shift);
        expect(Math.abs(after.x - (shift + c * before.x - s * before.y))).toBeLessThan(tolerance);
        expect(Math.abs(after.y - (shift + s * before.x + c * before.y))).toBeLessThan(tolerance);
        expect(Math.abs(after.radius - scale * before.radius)).toBeLessThan(tolerance);
      },
    ),
    { numRuns: 60, seed: 5 },
  );
});

describe("degenerate points", () => {
  const three = flat([
    [0, 0],
    [4, 0],
    [0, 3],
  ]);
  test("none, one, two: too few", () => {
    for (const points of [
      [],
      [[1, 2]],
      [
        [1, 2],
        [3, 4],
      ],
    ]) {
      expect(codeOf(fitCircle(flat(points)))).toBe("too-few-points");
    }
  });
  test("three points show no scatter, but with a stated uncertainty give their circumcircle", () => {
    expect(codeOf(fitCircle(three))).toBe("too-few-points");
    const fit = valueOf(fitCircle(three, { uPointMm: 0.1 }));
    // Circumcircle of a right triangle: centre of the hypotenuse.
    expect(fit.x).toBeCloseTo(2, 9);
    expect(fit.y).toBeCloseTo(1.5, 9);
    expect(fit.radius).toBeCloseTo(2.5, 9);
  });
  test("one point many times: too few", () => {
    expect(codeOf(fitCircle(new Float64Array(20).fill(3.7)))).toBe("too-few-points");
  });
  test("collinear: a line, also far from the origin and slanted", () => {
    for (const shift of [0, 1e4]) {
      const line = flat(Array.from({ length: 9 }, (_, i) => [shift + i, shift + 0.7 * i]));
      expect(codeOf(fitCircle(line))).toBe("points-on-a-line");
    }
  });
  test("an arc that is flat within its scatter: a line, not a radius by chance", () => {
    // 2 degrees of a 20 mm circle rise 0.003 mm above their chord, a third of the scatter of a point.
    const random = seededRandom(7);
    let flatArcs = 0;
    for (let run = 0; run < 100; run++) {
      const arc = arcPoints({ radius: 20, count: 40, toRad: Math.PI / 90 }, 0.01, random);
      if (codeOf(fitCircle(arc)) === "points-on-a-line") flatArcs++;
      expect(codeOf(fitCircle(arcPoints({ radius: 20, count: 40, toRad: Math.PI / 9 }, 0.01, random)))).toBe(
        undefined,
      );
    }
    // Scatter imitates a curve of three times its u now and then.
    expect(flatArcs).toBeGreaterThan(96);
  });
  test("two points, each twice: a line", () => {
    expect(
      codeOf(
        fitCircle(
          flat([
            [0, 0],
            [1, 1],
            [0, 0],
            [1, 1],
          ]),
        ),
      ),
    ).toBe("points-on-a-line");
  });
  test("all weights zero but two: too few", () => {
    expect(codeOf(fitCircle(three, { weights: Float64Array.of(1, 0, 1), uPointMm: 1 }))).toBe(
      "too-few-points",
    );
  });
  test("odd length, NaN and wrong weights are misuse", () => {
    expect(() => fitCircle(new Float64Array(7))).toThrow(RangeError);
    expect(() => fitCircle(Float64Array.of(0, 0, 1, 0, NaN, 1, 2, 2))).toThrow(/point 2/);
    expect(() => fitCircle(three, { weights: new Float64Array(2) })).toThrow(RangeError);
    expect(() => fitCircle(three, { weights: Float64Array.of(1, -1, 1) })).toThrow(/weight 1/);
  });
});
