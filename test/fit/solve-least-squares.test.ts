import { describe, expect, test } from "vitest";
import { solveLeastSquares, solveLinearLeastSquares } from "../../src/fit/index.js";
import { seededRandom } from "../../src/quantity/index.js";
import { codeOf, valueOf } from "./points.js";

/** Rosenbrock's valley as residuals; least at (1, 1) with sum 0. */
const valley = {
  residualCount: 2,
  start: [-1.2, 1],
  residuals: (p: Float64Array, out: Float64Array): void => {
    out[0] = 10 * (p[1]! - p[0]! ** 2);
    out[1] = 1 - p[0]!;
  },
};

test("follows a curved valley to an exact zero", () => {
  const fit = valueOf(solveLeastSquares(valley));
  expect(fit.params[0]).toBeCloseTo(1, 10);
  expect(fit.params[1]).toBeCloseTo(1, 10);
  expect(fit.sumOfSquares).toBeLessThan(1e-20);
});

test("numeric and analytic derivatives end in the same place with the same covariance", () => {
  const jacobian = (p: Float64Array, out: Float64Array): void => {
    out.set([-20 * p[0]!, 10, -1, 0]);
  };
  const numeric = valueOf(solveLeastSquares(valley));
  const analytic = valueOf(solveLeastSquares({ ...valley, jacobian }));
  analytic.params.forEach((p, j) => expect(numeric.params[j]).toBeCloseTo(p, 9));
  // (JᵀJ)⁻¹ at (1, 1), J = [[-20, 10], [-1, 0]], by hand.
  [1, 2, 2, 4.01].forEach((c, i) => {
    expect(analytic.covariance[i]).toBeCloseTo(c, 8);
    expect(numeric.covariance[i]).toBeCloseTo(c, 6);
  });
});

test("a linear problem agrees with the linear solver", () => {
  const random = seededRandom(81);
  const [m, n] = [30, 4];
  const a = Float64Array.from({ length: m * n }, () => random.normal());
  const b = Float64Array.from({ length: m }, () => random.normal());
  const linear = valueOf(solveLinearLeastSquares(a, b, n));
  const general = valueOf(
    solveLeastSquares({
      residualCount: m,
      start: [0, 0, 0, 0],
      residuals: (p, out) => {
        for (let i = 0; i < m; i++) {
          out[i] = -b[i]!;
          for (let j = 0; j < n; j++) out[i]! += a[i * n + j]! * p[j]!;
        }
      },
    }),
  );
  linear.params.forEach((p, j) => expect(general.params[j]).toBeCloseTo(p, 8));
  linear.covariance.forEach((c, j) => expect(general.covariance[j]).toBeCloseTo(c, 8));
  expect(general.sumOfSquares).toBeCloseTo(linear.sumOfSquares, 10);
});

test("a model that returns NaN where it has no meaning is stepped around", () => {
  // sqrt(p) = 0.1: the full step from 4 would make p negative.
  const fit = valueOf(
    solveLeastSquares({
      residualCount: 1,
      start: [4],
      residuals: (p, out) => {
        out[0] = Math.sqrt(p[0]!) - 0.1;
      },
    }),
  );
  expect(fit.params[0]).toBeCloseTo(0.01, 10);
});

describe("bounds", () => {
  test("hold the solution, and the other parameters settle beside it", () => {
    // Least (x - 3)² + (x + y - 5)² with x <= 2: x = 2, y = 3.
    const fit = valueOf(
      solveLeastSquares({
        residualCount: 2,
        start: [0, 0],
        bounds: { upper: [2, Infinity] },
        residuals: (p, out) => {
          out[0] = p[0]! - 3;
          out[1] = p[0]! + p[1]! - 5;
        },
      }),
    );
    expect(fit.params[0]).toBe(2);
    expect(fit.params[1]).toBeCloseTo(3, 8);
    expect(fit.onBound).toEqual([0]);
  });
  test("let go of a parameter that starts on its bound and wants inwards", () => {
    const fit = valueOf(solveLeastSquares({ ...valley, start: [-1.2, 0], bounds: { lower: [-2, 0] } }));
    expect(fit.params[0]).toBeCloseTo(1, 8);
    expect(fit.onBound).toEqual([]);
  });
  test("a start outside is moved to the bound; crossed bounds are misuse", () => {
    const fit = valueOf(solveLeastSquares({ ...valley, bounds: { lower: [0, 0], upper: [0.5, 2] } }));
    expect(fit.params[0]).toBe(0.5);
    expect(fit.params[1]).toBeCloseTo(0.25, 8);
    expect(() => solveLeastSquares({ ...valley, bounds: { lower: [1, 1], upper: [0, 2] } })).toThrow(
      RangeError,
    );
  });
});

describe("what cannot be solved is said", () => {
  test("fewer residuals than parameters", () => {
    expect(codeOf(solveLeastSquares({ ...valley, residualCount: 1 }))).toBe("too-few-points");
  });
  test("a parameter without effect", () => {
    const outcome = solveLeastSquares({
      residualCount: 3,
      start: [1, 1],
      residuals: (p, out) => {
        for (let i = 0; i < 3; i++) out[i] = p[0]! - i;
      },
    });
    expect(codeOf(outcome)).toBe("too-few-points");
  });
  test("two parameters of which only the sum counts", () => {
    const outcome = solveLeastSquares({
      residualCount: 3,
      start: [1, 2],
      residuals: (p, out) => {
        for (let i = 0; i < 3; i++) out[i] = p[0]! + p[1]! - i * i;
      },
    });
    expect(codeOf(outcome)).toBe("too-few-points");
  });
  test("too few steps allowed", () => {
    expect(codeOf(solveLeastSquares(valley, { maxIterations: 3 }))).toBe("no-convergence");
  });
  test("a start where the model has no value", () => {
    const outcome = solveLeastSquares({
      residualCount: 1,
      start: [-1],
      residuals: (p, out) => {
        out[0] = Math.log(p[0]!);
      },
    });
    expect(codeOf(outcome)).toBe("no-convergence");
  });
  test("no parameters, a start that is not finite, a scale of zero: misuse", () => {
    expect(() => solveLeastSquares({ ...valley, start: [] })).toThrow(RangeError);
    expect(() => solveLeastSquares({ ...valley, start: [NaN, 0] })).toThrow(RangeError);
    expect(() => solveLeastSquares({ ...valley, scale: [1, 0] })).toThrow(RangeError);
  });
});

test("a large well-posed problem (15 parameters, 2000 residuals) takes few steps and evaluations", () => {
  const random = seededRandom(91);
  const [m, n] = [2000, 15];
  const truth = Float64Array.from({ length: n }, (_, j) => 1 + 0.1 * j);
  const x = Float64Array.from({ length: m * n }, () => random.normal());
  const model = (p: Float64Array, i: number): number => {
    let s = 0;
    for (let j = 0; j < n; j++) s += x[i * n + j]! * p[j]!;
    return s + 0.05 * s * s;
  };
  const y = Float64Array.from({ length: m }, (_, i) => model(truth, i) + 0.1 * random.normal());
  let evaluations = 0;
  const fit = valueOf(
    solveLeastSquares({
      residualCount: m,
      start: new Float64Array(n).fill(1),
      residuals: (p, out) => {
        evaluations++;
        for (let i = 0; i < m; i++) out[i] = (y[i]! - model(p, i)) / 0.1;
      },
    }),
  );
  // Sum of squares: chi-squared with 1985 degrees of freedom, standard deviation 63.
  expect(Math.abs(fit.sumOfSquares - (m - n))).toBeLessThan(4 * 63);
  let pulls = 0;
  for (let j = 0; j < n; j++) pulls += (fit.params[j]! - truth[j]!) ** 2 / fit.covariance[j * n + j]!;
  // Correlations are small here: chi-squared with 15 degrees of freedom, 0.1 % and 99.9 % points 3.5 and 37.7.
  expect(pulls).toBeGreaterThan(3.5);
  expect(pulls).toBeLessThan(37.7);
  expect(fit.iterations).toBeLessThan(15);
  expect(evaluations).toBeLessThan(20 * n);
});

describe("linear least squares", () => {
  test("a straight line, by hand", () => {
    // y = 1 + 2x through (0,1) (1,3) (2,5.3): slope 2.15, intercept 0.95.
    const fit = valueOf(
      solveLinearLeastSquares(Float64Array.of(1, 0, 1, 1, 1, 2), Float64Array.of(1, 3, 5.3), 2),
    );
    expect(fit.params[0]).toBeCloseTo(0.95, 12);
    expect(fit.params[1]).toBeCloseTo(2.15, 12);
    expect(fit.sumOfSquares).toBeCloseTo(0.015, 12);
    [5 / 6, -1 / 2, -1 / 2, 1 / 2].forEach((c, i) => expect(fit.covariance[i]).toBeCloseTo(c, 12));
  });
  test("weights are 1/u²: a constant gets the weighted mean", () => {
    const fit = valueOf(
      solveLinearLeastSquares(Float64Array.of(1, 1), Float64Array.of(10, 13), 1, Float64Array.of(2, 1)),
    );
    expect(fit.params[0]).toBeCloseTo(11, 12);
    expect(fit.covariance[0]).toBeCloseTo(1 / 3, 12);
    expect(fit.sumOfSquares).toBeCloseTo(2 * 1 + 1 * 4, 12);
  });
  // Source: NIST StRD linear regression, Wampler1: y = sum of x^k, k = 0..5, x = 0..20; all coefficients are 1
  // exactly (the definition of the set, from memory).
  test("Wampler1: a fifth-degree polynomial of whole numbers", () => {
    const a = Float64Array.from({ length: 21 * 6 }, (_, k) => Math.floor(k / 6) ** (k % 6));
    const b = Float64Array.from({ length: 21 }, (_, i) => [0, 1, 2, 3, 4, 5].reduce((s, k) => s + i ** k, 0));
    const fit = valueOf(solveLinearLeastSquares(a, b, 6));
    fit.params.forEach((p) => expect(Math.abs(p - 1)).toBeLessThan(1e-7));
  });
  test("too few, dependent columns, a column of zeros: too few points", () => {
    expect(codeOf(solveLinearLeastSquares(Float64Array.of(1, 2), Float64Array.of(1), 2))).toBe(
      "too-few-points",
    );
    const twice = Float64Array.of(1, 2, 2, 4, 3, 6);
    expect(codeOf(solveLinearLeastSquares(twice, Float64Array.of(1, 2, 3), 2))).toBe("too-few-points");
    const zero = Float64Array.of(1, 0, 2, 0, 3, 0);
    expect(codeOf(solveLinearLeastSquares(zero, Float64Array.of(1, 2, 3), 2))).toBe("too-few-points");
  });
  test("misuse", () => {
    expect(() => solveLinearLeastSquares(new Float64Array(5), new Float64Array(3), 2)).toThrow(RangeError);
    expect(() =>
      solveLinearLeastSquares(new Float64Array(6), new Float64Array(3), 2, Float64Array.of(1, -1, 1)),
    ).toThrow(/weight 1/);
  });
});
