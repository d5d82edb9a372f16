import { describe, expect, test } from "vitest";
import { fitEllipse, guessEllipse } from "../../src/fit/index.js";
import { FootPoint } from "../../src/fit/foot-point.js";
import { seededRandom, type SeededRandom } from "../../src/quantity/index.js";
import reference from "../reference/circle-fits/circle-fits.json" with { type: "json" };
import { arcPoints, codeOf, flat, valueOf } from "./points.js";

const gander = reference.ganderGolubStrebelEllipse;

function ellipsePoints(
  { x, y, a, b, angleRad }: { x: number; y: number; a: number; b: number; angleRad: number },
  count: number,
  u = 0,
  random: SeededRandom = seededRandom(1),
): Float64Array {
  return flat(
    Array.from({ length: count }, (_, i) => {
      const t = (2 * Math.PI * i) / count;
      const [p, q] = [a * Math.cos(t), b * Math.sin(t)];
      const [c, s] = [Math.cos(angleRad), Math.sin(angleRad)];
      return [x + c * p - s * q + u * random.normal(), y + s * p + c * q + u * random.normal()];
    }),
  );
}

// Source: points of Gander, Golub, Strebel, BIT 34 (1994); results by scipy, see test/reference/circle-fits.
describe("the eight points of Gander, Golub and Strebel", () => {
  test("geometric fit ends at the global minimum", () => {
    const fit = valueOf(fitEllipse(flat(gander.points)));
    expect(fit.rms * Math.sqrt(8)).toBeCloseTo(gander.geometric.residualNorm, 7);
    expect(fit.x).toBeCloseTo(gander.geometric.centre[0]!, 5);
    expect(fit.y).toBeCloseTo(gander.geometric.centre[1]!, 5);
    expect(fit.semiMajor).toBeCloseTo(gander.geometric.a, 5);
    expect(fit.semiMinor).toBeCloseTo(gander.geometric.b, 5);
    expect(fit.angleRad).toBeCloseTo(gander.geometric.angleRad, 5);
  });
  test("direct algebraic fit", () => {
    const ellipse = valueOf(guessEllipse(flat(gander.points)));
    expect(ellipse.x).toBeCloseTo(gander.fitzgibbon.centre[0]!, 6);
    expect(ellipse.y).toBeCloseTo(gander.fitzgibbon.centre[1]!, 6);
    expect(ellipse.semiMajor).toBeCloseTo(gander.fitzgibbon.a, 6);
    expect(ellipse.semiMinor).toBeCloseTo(gander.fitzgibbon.b, 6);
    expect(ellipse.angleRad).toBeCloseTo(gander.fitzgibbon.angleRad, 6);
  });
});

test.each([0, 0.4, 1.2, Math.PI / 2, -0.9])(
  "exact points give the ellipse back, turned by %f rad",
  (angleRad) => {
    const truth = { x: 812, y: -45, a: 6.1, b: 5.9, angleRad };
    const fit = valueOf(fitEllipse(ellipsePoints(truth, 30)));
    expect(fit.x).toBeCloseTo(truth.x, 9);
    expect(fit.y).toBeCloseTo(truth.y, 9);
    expect(fit.semiMajor).toBeCloseTo(truth.a, 9);
    expect(fit.semiMinor).toBeCloseTo(truth.b, 9);
    // Directions of an axis repeat after half a turn.
    expect(Math.sin(2 * (fit.angleRad - angleRad))).toBeCloseTo(0, 8);
    expect(Math.cos(2 * (fit.angleRad - angleRad))).toBeCloseTo(1, 8);
  },
);

test("a round hole is an ellipse without direction, and its covariance stays finite", () => {
  const fit = valueOf(fitEllipse(arcPoints({ x: 3, y: 4, radius: 2, count: 40 }), { uPointMm: 0.01 }));
  expect(fit.semiMajor).toBeCloseTo(2, 9);
  expect(fit.semiMinor).toBeCloseTo(2, 9);
  // Closed form for n regular points: centre 2/n, mean radius 1/n, oval 2/n times u².
  const n = 40;
  [2, 2, 1, 2, 2].forEach((c, j) => expect(fit.covariance[6 * j]!).toBeCloseTo((c / n) * 1e-4, 10));
});

test("stated covariance against 600 noisy fits", () => {
  const random = seededRandom(31);
  const truth = { x: 1, y: 2, a: 5, b: 4.8, angleRad: 0.6 };
  const expected = [1, 2, 4.9, 0.1 * Math.cos(1.2), 0.1 * Math.sin(1.2)];
  const seen = new Array<number>(5).fill(0);
  const stated = new Array<number>(5).fill(0);
  for (let run = 0; run < 600; run++) {
    const fit = valueOf(fitEllipse(ellipsePoints(truth, 40, 0.02, random)));
    [fit.x, fit.y, fit.meanRadius, fit.ovalCos, fit.ovalSin].forEach((value, j) => {
      seen[j]! += (value - expected[j]!) ** 2;
      stated[j]! += fit.covariance[6 * j]!;
    });
  }
  // A variance from 600 runs is known to 6 % (k = 1).
  for (let j = 0; j < 5; j++) {
    expect(seen[j]! / stated[j]!).toBeGreaterThan(0.8);
    expect(seen[j]! / stated[j]!).toBeLessThan(1.22);
  }
});

test("eight points: the scatter counts three degrees of freedom", () => {
  const random = seededRandom(32);
  let stated = 0;
  for (let run = 0; run < 400; run++) {
    const fit = valueOf(fitEllipse(arcPoints({ radius: 5, count: 8 }, 0.01, random)));
    stated += fit.covariance[12]! / 400;
  }
  // Mean radius: u²/n; a mean of 400 variances of 3 degrees of freedom each is known to 4 % (k = 1).
  expect(stated / (1e-4 / 8)).toBeGreaterThan(0.85);
  expect(stated / (1e-4 / 8)).toBeLessThan(1.15);
});

test("foot points: nearest of many points on the ellipse, and slope against differences", () => {
  const random = seededRandom(41);
  const foot = new FootPoint();
  const params = Float64Array.of(0.3, -0.2, 2, 0.7, 0.4);
  const [c0, c1] = [params[2]! + params[3]!, params[2]! - params[3]!];
  const distanceTo = (p: Float64Array, x: number, y: number): number => {
    foot.setEllipse(p);
    foot.find(x, y);
    return foot.distance;
  };
  for (let run = 0; run < 200; run++) {
    const x = 0.3 + 3 * random.normal();
    const y = -0.2 + 3 * random.normal();
    let nearest = Infinity;
    for (let k = 0; k < 20_000; k++) {
      const t = (2 * Math.PI * k) / 20_000;
      const ex = params[0]! + c0 * Math.cos(t) + params[4]! * Math.sin(t);
      const ey = params[1]! + params[4]! * Math.cos(t) + c1 * Math.sin(t);
      nearest = Math.min(nearest, Math.hypot(x - ex, y - ey));
    }
    // Half a step is at most 0.00044 along the ellipse, and d/curvature radius (0.5 at the tips) stretches that.
    const distance = Math.abs(distanceTo(params, x, y));
    expect(nearest).toBeGreaterThan(distance - 1e-12);
    expect(nearest).toBeLessThan(Math.sqrt(distance ** 2 + 0.00044 ** 2 * (1 + distance / 0.5)) + 1e-12);
    foot.setEllipse(params);
    foot.find(x, y);
    const { nx, ny, ux, uy } = foot;
    const slopes = [-nx, -ny, -(nx * ux + ny * uy), -(nx * ux - ny * uy), -(nx * uy + ny * ux)];
    slopes.forEach((slope, j) => {
      const ahead = params.slice();
      const behind = params.slice();
      ahead[j]! += 1e-5;
      behind[j]! -= 1e-5;
      const difference = (distanceTo(ahead, x, y) - distanceTo(behind, x, y)) / 2e-5;
      // Central differences: error (1e-5)² over the distance to the evolute.
      expect(Math.abs(difference - slope)).toBeLessThan(1e-4);
    });
  }
});

describe("degenerate points", () => {
  test("none, four: too few; five only with a stated uncertainty", () => {
    expect(codeOf(fitEllipse(flat([])))).toBe("too-few-points");
    expect(codeOf(fitEllipse(arcPoints({ count: 4 })))).toBe("too-few-points");
    expect(codeOf(fitEllipse(arcPoints({ count: 5 })))).toBe("too-few-points");
    const fit = valueOf(fitEllipse(arcPoints({ count: 5 }), { uPointMm: 0.1 }));
    expect(fit.semiMinor).toBeCloseTo(1, 6);
  });
  test("collinear, or three places: a problem, not an ellipse", () => {
    const line = flat(Array.from({ length: 9 }, (_, i) => [i, 2 * i]));
    expect(codeOf(fitEllipse(line))).toBe("points-on-a-line");
    const places = flat([
      [0, 0],
      [1, 0],
      [0, 1],
      [0, 0],
      [1, 0],
      [0, 1],
    ]);
    expect(fitEllipse(places).ok).toBe(false);
  });
  test("odd length is misuse", () => {
    expect(() => fitEllipse(new Float64Array(11))).toThrow(RangeError);
  });
});
