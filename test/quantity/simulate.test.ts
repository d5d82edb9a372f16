import { describe, expect, test } from "vitest";
import {
  combine,
  quantity,
  seededRandom,
  simulate,
  standardUncertainty,
  type InputId,
  type InputShape,
  type Quantity,
} from "../../src/quantity/index.js";
import { xoshiro128 } from "../../src/quantity/seeded-random.js";

const input = (id: InputId, value: number, u: number): Quantity<"1"> => quantity(value, "1", [[id, u]]);
const rectangular = (id: InputId, low: number, high: number): Quantity<"1"> =>
  input(id, (low + high) / 2, (high - low) / Math.sqrt(12));
const shapesOf = (shape: InputShape, ...ids: InputId[]): Map<InputId, InputShape> =>
  new Map(ids.map((id) => [id, shape]));
const sum = (values: number[]): number => values.reduce((a, b) => a + b, 0);

// Source: JCGM 101:2008, 9.2: sum of four inputs.
describe("JCGM 101 9.2: additive model", () => {
  const ids: InputId[] = ["fit:x1", "fit:x2", "fit:x3", "fit:x4"];
  const four = ids.map((id) => input(id, 0, 1));
  const draws = 400_000;

  test("9.2.2 four normal inputs: u 2.0, 95 % +-3.92", () => {
    const found = simulate(four, sum, { draws });
    // Quantiles of 400 000 draws: standard deviation about 0.009.
    expect(found.mean).toBeCloseTo(0, 1);
    expect(found.standardDeviation).toBeCloseTo(2, 1);
    expect(Math.abs(found.symmetric[0] + 3.92)).toBeLessThan(0.03);
    expect(Math.abs(found.symmetric[1] - 3.92)).toBeLessThan(0.03);
    expect(found.shortest[1] - found.shortest[0]).toBeLessThanOrEqual(
      found.symmetric[1] - found.symmetric[0],
    );
  });
  test("9.2.3 four rectangular inputs: 95 % +-3.88", () => {
    const found = simulate(four, sum, { draws, shapes: shapesOf("rectangular", ...ids) });
    expect(found.standardDeviation).toBeCloseTo(2, 1);
    expect(Math.abs(found.symmetric[0] + 3.88)).toBeLessThan(0.025);
    expect(Math.abs(found.symmetric[1] - 3.88)).toBeLessThan(0.025);
  });
  test("9.2.4 one dominant rectangular input: u 10.1, 95 % +-17.0", () => {
    const inputs = [...four.slice(0, 3), input(ids[3]!, 0, 10)];
    const found = simulate(inputs, sum, { draws, shapes: shapesOf("rectangular", ...ids) });
    expect(found.standardDeviation).toBeCloseTo(Math.sqrt(103), 1);
    expect(Math.abs(found.symmetric[0] + 17)).toBeLessThan(0.1);
    expect(Math.abs(found.symmetric[1] - 17)).toBeLessThan(0.1);
  });
});

// Source: JCGM 101:2008, 9.3: mass calibration, mg and kg/m³ (results as published; inputs of table 5 from memory).
describe("JCGM 101 9.3: mass calibration", () => {
  const reference = input("scale:reference", 100_000, 0.05);
  const added = input("scale:added", 1.234, 0.02);
  const air = rectangular("fit:air", 1.1, 1.3);
  const weight = rectangular("fit:weight", 7000, 9000);
  const standard = rectangular("fit:standard", 7950, 8050);
  const model = ([m, dm, a, w, r]: number[]): number =>
    (m! + dm!) * (1 + (a! - 1.2) * (1 / w! - 1 / r!)) - 100_000;
  const inputs = [reference, added, air, weight, standard];

  test("first order gives 1.234 mg with u 0.0539, which is too small", () => {
    const q = combine(inputs, model);
    expect(q.value).toBeCloseTo(1.234, 6);
    expect(standardUncertainty(q)).toBeCloseTo(0.0539, 4);
  });
  test("Monte Carlo gives u 0.0755 and the shortest 95 % interval [1.083, 1.382]", () => {
    const found = simulate(inputs, model, {
      draws: 400_000,
      shapes: shapesOf("rectangular", "fit:air", "fit:weight", "fit:standard"),
    });
    expect(found.mean).toBeCloseTo(1.234, 3);
    expect(found.standardDeviation).toBeCloseTo(0.0755, 3);
    // Ends of a shortest interval scatter by about 0.002.
    expect(Math.abs(found.shortest[0] - 1.083)).toBeLessThan(0.006);
    expect(Math.abs(found.shortest[1] - 1.382)).toBeLessThan(0.006);
  });
});

// Source: JCGM 102:2011, magnitude of a complex quantity, re 0.001, im 0, u 0.010 each.
test("JCGM 102: a magnitude near zero is 0.013 (0.007), where first order says 0.001 (0.010)", () => {
  const inputs = [input("fit:re", 0.001, 0.01), input("fit:im", 0, 0.01)];
  const magnitude = ([re, im]: number[]): number => Math.hypot(re!, im!);
  const firstOrder = combine(inputs, magnitude);
  expect(firstOrder.value).toBeCloseTo(0.001, 6);
  expect(standardUncertainty(firstOrder)).toBeCloseTo(0.01, 4);
  const found = simulate(inputs, magnitude);
  expect(found.mean).toBeCloseTo(0.013, 3);
  expect(found.standardDeviation).toBeCloseTo(0.007, 3);
  const phase = simulate(inputs, ([re, im]) => Math.atan2(im!, re!));
  expect(phase.standardDeviation).toBeCloseTo(1.744, 1);
});

// Source: NIST TN 1900, example E13 (thermal expansion coefficient), scaled t inputs with 3 degrees of freedom.
test("NIST TN 1900 E13: 1.727e-5 with u 1.76e-6 first order, 1.74e-6 Monte Carlo", () => {
  const inputs = [
    input("scale:L0", 1.4999, 0.0001),
    input("fit:T0", 288.15, 0.02),
    input("scale:L1", 1.5021, 0.0002),
    input("fit:T1", 373.1, 0.05),
  ];
  const model = ([l0, t0, l1, t1]: number[]): number => (l1! - l0!) / (l0! * (t1! - t0!));
  const firstOrder = combine(inputs, model);
  expect(firstOrder.value).toBeCloseTo(1.7266e-5, 9);
  expect(standardUncertainty(firstOrder)).toBeCloseTo(1.76e-6, 8);
  const found = simulate(inputs, model, {
    draws: 400_000,
    shapes: shapesOf({ studentDegreesOfFreedom: 3 }, "scale:L0", "fit:T0", "scale:L1", "fit:T1"),
  });
  expect(found.mean).toBeCloseTo(1.7266e-5, 7);
  // Heavy tails: the standard deviation of a run scatters by a few percent.
  expect(found.standardDeviation / 1.74e-6).toBeGreaterThan(0.93);
  expect(found.standardDeviation / 1.74e-6).toBeLessThan(1.07);
});

// Source: NPL report DEM-ES-011, section 9.2: y = ln x, x rectangular on [0.1, 1.1].
test("NPL logarithm: first order -0.511 (0.481), Monte Carlo -0.665 (0.606), 95 % [-1.895, 0.095]", () => {
  const x = rectangular("fit:x", 0.1, 1.1);
  const firstOrder = combine([x], ([v]) => Math.log(v!));
  expect(firstOrder.value).toBeCloseTo(-0.511, 3);
  expect(standardUncertainty(firstOrder)).toBeCloseTo(0.481, 3);
  const found = simulate([x], ([v]) => Math.log(v!), {
    draws: 400_000,
    shapes: shapesOf("rectangular", "fit:x"),
  });
  expect(found.mean).toBeCloseTo(-0.665, 2);
  expect(found.standardDeviation).toBeCloseTo(0.606, 2);
  // Closed form ln 0.15 = -1.897; the 5 % quantile of x scatters by 0.0003, its logarithm by 0.0023.
  expect(Math.abs(found.shortest[0] + 1.895)).toBeLessThan(0.009);
  expect(found.shortest[1]).toBeCloseTo(0.095, 2);
});

describe("the generator and its shapes", () => {
  // Source: known answer of xoshiro128** from the state 1, 2, 3, 4, as in the tests of the rand_xoshiro library.
  test("gives the published sequence", () => {
    const next = xoshiro128([1, 2, 3, 4]);
    const expected = [11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849];
    expect(Array.from({ length: 8 }, next)).toEqual(expected);
  });
  test("the same seed draws the same, another seed another", () => {
    const draw = (seed: number): number[] => {
      const random = seededRandom(seed);
      return [random.uniform(), random.normal(), random.normal(), random.uniform()];
    };
    expect(draw(5)).toEqual(draw(5));
    expect(draw(5)).not.toEqual(draw(6));
  });
  // Closed forms of the fourth moment (in units of variance squared); 150 000 draws know the mean
  // to 0.0026, the variance to 0.0045 or better, the fourth moment to about 1 % (k = 1).
  test.each<[string, InputShape, number]>([
    ["normal", "normal", 3],
    ["rectangular", "rectangular", 9 / 5],
    ["triangular", "triangular", 12 / 5],
    ["arcsine", "arcsine", 3 / 2],
    ["t with 10 degrees of freedom", { studentDegreesOfFreedom: 10 }, 4],
  ])("%s: mean 0, variance 1, fourth moment", (_, shape, fourth) => {
    const one = [input("fit:x", 0, 1)];
    const shapes = shapesOf(shape, "fit:x");
    const moment = (k: number): number =>
      simulate(one, ([x]) => x! ** k, { draws: 150_000, seed: 9, shapes }).mean;
    expect(Math.abs(moment(1))).toBeLessThan(0.0105);
    expect(Math.abs(moment(2) - 1)).toBeLessThan(0.018);
    expect(Math.abs(moment(4) / fourth - 1)).toBeLessThan(0.05);
  });
  test("uniform numbers fill [0, 1) evenly", () => {
    const random = seededRandom(123);
    const bins = new Array<number>(100).fill(0);
    for (let i = 0; i < 100_000; i++) bins[Math.floor(100 * random.uniform())]!++;
    const chi = bins.reduce((s, n) => s + (n - 1000) ** 2 / 1000, 0);
    // Chi-squared, 99 degrees of freedom: 0.1 % and 99.9 % points.
    expect(chi).toBeGreaterThan(60);
    expect(chi).toBeLessThan(149);
  });
});

test("shared inputs are drawn once: a difference of twins does not scatter", () => {
  const a = quantity(5, "mm", [["scale:s", 0.1]]);
  const b = quantity(3, "mm", [["scale:s", 0.1]]);
  const found = simulate([a, b], ([x, y]) => x! - y!, { draws: 1000 });
  expect(found.standardDeviation).toBeLessThan(1e-12);
});

test("agrees with first order where the model is nearly linear", () => {
  const shared = quantity(48, "1", [["scale:s", 0.1], ["edge:a", 0.02]]); // prettier-ignore
  const other = quantity(20, "1", [["scale:s", 0.05], ["edge:b", 0.03]]); // prettier-ignore
  const model = ([x, y]: number[]): number => x! / y! + Math.sqrt(x! * y!);
  const u = standardUncertainty(combine([shared, other], model));
  // 200 000 draws know a standard deviation to 0.16 %.
  expect(simulate([shared, other], model).standardDeviation / u - 1).toBeCloseTo(0, 2);
});

test("misuse: few draws, impossible coverage, t without a variance, a model without a value", () => {
  const one = [input("fit:x", 0, 1)];
  expect(() => simulate(one, sum, { draws: 10 })).toThrow(RangeError);
  expect(() => simulate(one, sum, { coverage: 1 })).toThrow(RangeError);
  expect(() => simulate(one, sum, { shapes: shapesOf({ studentDegreesOfFreedom: 2 }, "fit:x") })).toThrow(
    RangeError,
  );
  expect(() => simulate(one, ([x]) => Math.log(x!))).toThrow(/not finite/);
});
