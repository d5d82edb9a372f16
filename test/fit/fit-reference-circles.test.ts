import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { fitReferenceCircles } from "../../src/fit/index.js";
import { seededRandom } from "../../src/quantity/index.js";
import reference from "../reference/circle-fits/circle-fits.json" with { type: "json" };
import { arcPoints, codeOf, flat, valueOf } from "./points.js";

// Source: own profile, every candidate centre tried by numpy (test/reference/circle-fits/check.py).
test("the 16-point profile", () => {
  const expected = reference.sixteenPointProfile;
  const found = valueOf(fitReferenceCircles(flat(expected.points)));
  for (const name of ["leastSquares", "minimumCircumscribed", "maximumInscribed"] as const) {
    // Vertices to rounding; the least-squares optimum of a sum of squares only to half of the digits of scipy's.
    const decimals = name === "leastSquares" ? 7 : 10;
    expect(found[name].x).toBeCloseTo(expected[name].centre[0]!, decimals);
    expect(found[name].y).toBeCloseTo(expected[name].centre[1]!, decimals);
    expect(found[name].radius).toBeCloseTo(expected[name].radius, decimals);
    expect(found[name].deviation).toBeCloseTo(expected[name].deviation, decimals);
  }
  expect(found.leastSquares.rms).toBeCloseTo(expected.leastSquares.rms, 10);
  const zone = found.minimumZone;
  expect(zone.x).toBeCloseTo(expected.minimumZone.centre[0]!, 10);
  expect(zone.y).toBeCloseTo(expected.minimumZone.centre[1]!, 10);
  expect(zone.innerRadius).toBeCloseTo(expected.minimumZone.innerRadius, 10);
  expect(zone.outerRadius).toBeCloseTo(expected.minimumZone.outerRadius, 10);
  expect(zone.deviation).toBeCloseTo(expected.minimumZone.deviation, 10);
});

/** All centres that can be optimal: two points at one distance and two at another, or three at one. */
function bestByTrial(xy: Float64Array): { zone: number; circumscribed: number } {
  const n = xy.length / 2;
  const lines: [number, number, number][] = [];
  for (let i = 0; i < n; i++)
    for (let j = 0; j < i; j++) {
      const [xi, yi, xj, yj] = [xy[2 * i]!, xy[2 * i + 1]!, xy[2 * j]!, xy[2 * j + 1]!];
      lines.push([2 * (xi - xj), 2 * (yi - yj), xi * xi + yi * yi - xj * xj - yj * yj]);
    }
  let zone = Infinity;
  let circumscribed = Infinity;
  const look = (x: number, y: number): void => {
    let low = Infinity;
    let high = 0;
    for (let k = 0; k < n; k++) {
      const d = Math.hypot(xy[2 * k]! - x, xy[2 * k + 1]! - y);
      low = Math.min(low, d);
      high = Math.max(high, d);
    }
    zone = Math.min(zone, high - low);
    circumscribed = Math.min(circumscribed, high);
  };
  for (const [a, b, c] of lines)
    for (const [d, e, f] of lines) {
      const det = a * e - b * d;
      if (Math.abs(det) > 1e-12) look((c * e - b * f) / det, (a * f - c * d) / det);
    }
  for (let i = 0; i < n; i++)
    for (let j = 0; j < i; j++) look((xy[2 * i]! + xy[2 * j]!) / 2, (xy[2 * i + 1]! + xy[2 * j + 1]!) / 2);
  return { zone, circumscribed };
}

test("40 random profiles of 10 points: no other centre gives a smaller zone or circle", () => {
  const random = seededRandom(51);
  let runs = 0;
  for (; runs < 40; runs++) {
    const size = 10 ** (-3 * random.uniform() - 1);
    const points = arcPoints(
      { x: 50, y: 20, radius: 10, count: 10, fromRad: random.uniform() },
      size,
      random,
    );
    const found = valueOf(fitReferenceCircles(points));
    const tried = bestByTrial(points);
    // Trial centres carry rounding of the line intersections.
    expect(Math.abs(found.minimumZone.deviation - tried.zone)).toBeLessThan(1e-9);
    expect(Math.abs(found.minimumCircumscribed.radius - tried.circumscribed)).toBeLessThan(1e-9);
  }
  expect(runs).toBe(40);
});

test("the order of the deviations and radii that their definitions demand", () => {
  fc.assert(
    fc.property(
      fc.integer(),
      fc.integer({ min: 5, max: 60 }),
      fc.double({ min: 1e-6, max: 0.1, noNaN: true }),
      (seed, count, u) => {
        const points = arcPoints({ x: -3, y: 8, radius: 5, count }, u, seededRandom(seed));
        const found = valueOf(fitReferenceCircles(points));
        const rounding = 1e-12;
        const { minimumZone, leastSquares, minimumCircumscribed, maximumInscribed } = found;
        for (const circle of [leastSquares, minimumCircumscribed, maximumInscribed]) {
          expect(minimumZone.deviation).toBeLessThanOrEqual(circle.deviation + rounding);
        }
        expect(minimumCircumscribed.radius).toBeLessThanOrEqual(minimumZone.outerRadius + rounding);
        expect(maximumInscribed.radius).toBeGreaterThanOrEqual(minimumZone.innerRadius - rounding);
      },
    ),
    { numRuns: 100, seed: 7 },
  );
});

describe("closed forms", () => {
  test("a regular polygon has no deviation", () => {
    const found = valueOf(fitReferenceCircles(arcPoints({ x: 2, y: 1, radius: 7, count: 12 })));
    expect(found.minimumZone.deviation).toBeCloseTo(0, 12);
    expect(found.maximumInscribed.radius).toBeCloseTo(7, 12);
    expect(found.minimumCircumscribed.radius).toBeCloseTo(7, 12);
  });
  test("a two-lobed profile (ellipse of points): zone is the difference of the semi-axes", () => {
    const points = flat(
      Array.from({ length: 360 }, (_, i) => [
        5.1 * Math.cos((i * Math.PI) / 180),
        4.9 * Math.sin((i * Math.PI) / 180),
      ]),
    );
    const found = valueOf(fitReferenceCircles(points));
    expect(found.minimumZone.deviation).toBeCloseTo(0.2, 12);
    expect(found.minimumZone.x).toBeCloseTo(0, 9);
    expect(found.minimumCircumscribed.radius).toBeCloseTo(5.1, 12);
    expect(found.maximumInscribed.radius).toBeCloseTo(4.9, 12);
  });
  test("a three-lobed profile r = 5 + 0.1 cos 3t: zone 0.2, whatever the place", () => {
    const points = flat(
      Array.from({ length: 360 }, (_, i) => {
        const t = (i * Math.PI) / 180;
        const r = 5 + 0.1 * Math.cos(3 * t);
        return [100 + r * Math.cos(t), -40 + r * Math.sin(t)];
      }),
    );
    const found = valueOf(fitReferenceCircles(points));
    expect(found.minimumZone.deviation).toBeCloseTo(0.2, 11);
    expect(found.minimumZone.x).toBeCloseTo(100, 8);
    expect(found.minimumCircumscribed.radius).toBeCloseTo(5.1, 11);
  });
});

test("the same points in another order, some twice, give the same circles", () => {
  const points = arcPoints({ radius: 5, count: 30 }, 0.05);
  const before = valueOf(fitReferenceCircles(points));
  const order = [...Array(30).keys()].reverse().concat([3, 3, 17]);
  const after = valueOf(fitReferenceCircles(flat(order.map((i) => [points[2 * i]!, points[2 * i + 1]!]))));
  expect(after.minimumZone.deviation).toBeCloseTo(before.minimumZone.deviation, 12);
  expect(after.minimumCircumscribed.radius).toBeCloseTo(before.minimumCircumscribed.radius, 12);
  expect(after.maximumInscribed.radius).toBeCloseTo(before.maximumInscribed.radius, 12);
});

describe("degenerate points", () => {
  test("none, three: too few", () => {
    expect(codeOf(fitReferenceCircles(flat([])))).toBe("too-few-points");
    expect(codeOf(fitReferenceCircles(arcPoints({ count: 3 })))).toBe("too-few-points");
  });
  test("collinear: a line", () => {
    expect(
      codeOf(
        fitReferenceCircles(
          flat([
            [0, 0],
            [1, 0],
            [2, 0],
            [5, 0],
          ]),
        ),
      ),
    ).toBe("points-on-a-line");
  });
  test("a half circle has no inscribed circle: too few points, with advice", () => {
    const outcome = fitReferenceCircles(arcPoints({ radius: 3, count: 20, toRad: Math.PI }, 0.001));
    expect(codeOf(outcome)).toBe("too-few-points");
    expect(outcome.ok ? "" : outcome.problem.advice).toMatch(/all round/);
  });
});
