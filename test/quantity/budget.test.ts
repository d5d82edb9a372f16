import { describe, expect, test } from "vitest";
import {
  budgetOf,
  combine,
  coverageFactor,
  effectiveDegreesOfFreedom,
  expandedUncertainty,
  largestInputs,
  quantity,
  standardUncertainty,
  type InputId,
} from "../../src/quantity/index.js";
import gum from "../reference/gum/gum-examples.json" with { type: "json" };

// Source: JCGM 100:2008, example H.1: length of an end gauge, nm.
describe("JCGM 100 H.1: end gauge", () => {
  const { inputs: given, printed, recomputed } = gum.H1;
  const uniform = (halfwidth: number): number => halfwidth / Math.sqrt(3);
  const ls = quantity(given.ls_nm, "1", [["scale:standard", given.u_ls]]);
  const d = quantity(given.d_nm, "1", [
    ["resolution:repeats", given.u_d0],
    ["scale:random", given.u_d1],
    ["scale:systematic", given.u_d2],
  ]);
  const dAlpha = quantity(0, "1", [["fit:d-alpha", uniform(given.halfwidth_d_alpha)]]);
  const dTheta = quantity(0, "1", [["pose:d-theta", uniform(given.halfwidth_d_theta)]]);
  const alpha = quantity(given.alpha_s, "1", [["fit:alpha", uniform(given.halfwidth_alpha_s)]]);
  const theta = quantity(given.theta_mean, "1", [
    ["height:mean", given.u_theta_bar],
    ["height:cycle", given.arcsine_amplitude / Math.SQRT2],
  ]);
  const length = combine(
    [ls, d, dAlpha, dTheta, alpha, theta],
    ([s, diff, da, dt, a, t]) => s! + diff! - s! * (da! * t! + a! * dt!),
  );
  const freedom = new Map<InputId, number>([
    ["scale:standard", given.nu_ls],
    ["resolution:repeats", given.nu_d0],
    ["scale:random", given.nu_d1],
    ["scale:systematic", given.nu_d2],
    ["fit:d-alpha", given.nu_d_alpha],
    ["pose:d-theta", given.nu_d_theta],
  ]);

  test("length and combined standard uncertainty", () => {
    expect(length.value).toBeCloseTo(printed.l_nm, 6);
    expect(standardUncertainty(length)).toBeCloseTo(recomputed.uc_nm, 3);
    expect(Math.round(standardUncertainty(length))).toBe(printed.uc_nm);
  });

  test("effective degrees of freedom of the comparison and of the result", () => {
    expect(standardUncertainty(d)).toBeCloseTo(recomputed.u_d_nm, 9);
    expect(effectiveDegreesOfFreedom(d, freedom)).toBeCloseTo(recomputed.nu_d, 8);
    // The guide pools d0, d1, d2 first; term by term gives the same.
    const nu = effectiveDegreesOfFreedom(length, freedom);
    expect(nu).toBeCloseTo(recomputed.nu_eff, 3);
    expect(Math.floor(nu)).toBe(printed.nu_eff);
  });

  test("expanded uncertainty with 99 %", () => {
    const k = coverageFactor(printed.nu_eff, 0.99);
    expect(k).toBeCloseTo(printed.t99, 2);
    expect(expandedUncertainty(length, k)).toBeCloseTo(recomputed.U99_nm, 1);
    // The guide rounds up: 92.5 to 93.
    expect(Math.ceil(expandedUncertainty(length, k))).toBe(printed.U99_nm);
  });

  test("the budget names the sources in the order of the guide's table", () => {
    // Table H.1: 25 (standard), 16.6 (temperature difference), 9.7 (comparison), 2.9 (expansion).
    const largest = largestInputs(length, 3);
    expect(largest.map((input) => input.id)).toEqual(["scale:standard", "pose:d-theta", "scale:systematic"]);
    expect(largest[1]!.u).toBeCloseTo(16.6, 1);
    expect(largestInputs(length, 99).map(({ id }) => id)).not.toContain("height:mean");
  });
});

describe("budget by hand", () => {
  const q = quantity(50, "mm", [
    ["edge:a", 0.03],
    ["edge:b", -0.04],
    ["scale:mat-across", 0.12],
    ["height:face", 0],
  ]);
  test("by source, largest first, shares of the variance", () => {
    expect(standardUncertainty(q)).toBeCloseTo(0.13, 15);
    const budget = budgetOf(q);
    expect(budget.map(({ source }) => source)).toEqual(["scale", "edge"]);
    expect(budget[0]!.u).toBeCloseTo(0.12, 12);
    expect(budget[1]!.u).toBeCloseTo(0.05, 12);
    expect(budget[0]!.share).toBeCloseTo(144 / 169, 12);
    expect(budget[1]!.share).toBeCloseTo(25 / 169, 12);
  });
  test("largest inputs keep their names and lose their signs", () => {
    const [first, second] = largestInputs(q, 2);
    expect([first!.id, first!.source]).toEqual(["scale:mat-across", "scale"]);
    expect(second!.id).toBe("edge:b");
    expect(second!.u).toBe(0.04);
    expect(second!.share).toBeCloseTo(16 / 169, 12);
    expect(largestInputs(q, 9)).toHaveLength(3);
  });
  test("an exact quantity has an empty budget", () => {
    expect(budgetOf(quantity(5, "mm"))).toEqual([]);
    expect(largestInputs(quantity(5, "mm", [["edge:a", 0]]), 3)).toEqual([]);
  });
  test("expanded uncertainty is k u, k = 2 unless stated", () => {
    expect(expandedUncertainty(q)).toBeCloseTo(0.26, 12);
    expect(expandedUncertainty(q, 3)).toBeCloseTo(0.39, 12);
  });
});

describe("coverage factor", () => {
  // Source: JCGM 100:2008, table G.2 (two decimals; from memory).
  test.each([
    [1, 0.95, 12.71],
    [2, 0.95, 4.3],
    [5, 0.95, 2.57],
    [10, 0.95, 2.23],
    [50, 0.95, 2.01],
    [Infinity, 0.95, 1.96],
    [1, 0.99, 63.66],
    [16, 0.99, 2.92],
    [30, 0.99, 2.75],
    [Infinity, 0.99, 2.576],
  ])("%f degrees of freedom, %f: %f", (nu, coverage, k) => {
    expect(coverageFactor(nu, coverage)).toBeCloseTo(k, k === 2.576 ? 3 : 2);
  });
  test("closed forms for 1 and 2 degrees of freedom", () => {
    for (const p of [0.01, 0.5, 0.9, 0.999]) {
      expect(coverageFactor(1, p) / Math.tan((Math.PI * p) / 2)).toBeCloseTo(1, 10);
      expect(coverageFactor(2, p) / (p * Math.sqrt(2 / (1 - p * p)))).toBeCloseTo(1, 10);
    }
  });
  test("many degrees of freedom run into the normal value", () => {
    // t - z = z (z² + 1) / 4 nu for large nu.
    const z = coverageFactor(Infinity);
    expect(z).toBeCloseTo(1.959963984540054, 12);
    expect((coverageFactor(1e5) - z) * 4e5).toBeCloseTo(z * (z * z + 1), 2);
    expect(coverageFactor(1e6) - coverageFactor(1.000001e6)).toBeLessThan(3e-6);
  });
  test("out of range is misuse", () => {
    expect(() => coverageFactor(0)).toThrow(RangeError);
    expect(() => coverageFactor(NaN)).toThrow(RangeError);
    expect(() => coverageFactor(5, 1)).toThrow(RangeError);
    expect(() => coverageFactor(5, 0)).toThrow(RangeError);
  });
  test("inputs that count as known give infinite degrees of freedom", () => {
    expect(effectiveDegreesOfFreedom(quantity(1, "mm", [["edge:a", 1]]), new Map())).toBe(Infinity);
  });
});
