import { describe, expect, test } from "vitest";
import {
  moduleFromDiameters,
  nearestPreferredModule,
} from "../../../src/parts/wheel/module-from-diameters.js";
import { quantity, standardUncertainty, type Quantity } from "../../../src/quantity/index.js";

const measured = (value: number, name: string, u = 0.02): Quantity<"mm"> =>
  quantity(value, "mm", [
    [`scale:mat`, 0.0003 * value],
    [`resolution:${name}`, u],
  ]);

/** BS 978-2:1952: tip diameter (N + 2 f_a) m, root diameter (N - pi) m. */
const wheelOf = (count: number, addendum: number, m: number) =>
  moduleFromDiameters(
    count,
    measured((count + 2 * addendum) * m, "tip"),
    measured((count - Math.PI) * m, "root"),
    "T1",
  )!;

describe("module from tip and root diameter", () => {
  test("60 teeth into 8 leaves, f_a 1.471", () => {
    for (const m of [0.5, 0.8, 1]) {
      const { moduleMm, addendumFactor } = wheelOf(60, 1.471, m);
      expect(Math.abs(moduleMm.value - m)).toBeLessThan(2 * standardUncertainty(moduleMm));
      expect(Math.abs(moduleMm.value / m - 1)).toBeLessThan(0.005);
      expect(Math.abs(addendumFactor - 1.471)).toBeLessThan(0.15);
    }
  });

  // Addendum factors f_a printed in BS 978-2:1952 by leaves, for the ratios 6, 8, 10 and 12.
  const printed: readonly (readonly [leaves: number, ...number[]])[] = [
    [6, 1.303, 1.315, 1.322, 1.328],
    [7, 1.385, 1.399, 1.408, 1.414],
    [8, 1.459, 1.475, 1.484, 1.491],
    [9, 1.526, 1.543, 1.554, 1.561],
    [10, 1.588, 1.607, 1.618, 1.626],
  ];

  test("holds the module within what is claimed over the table of addenda, and within 0.5 % from 42 teeth up", () => {
    let tried = 0;
    for (const [leaves, ...addenda] of printed)
      addenda.forEach((addendum, i) => {
        const count = leaves * [6, 8, 10, 12][i]!;
        const { moduleMm } = wheelOf(count, addendum, 0.6);
        expect(Math.abs(moduleMm.value - 0.6)).toBeLessThan(2 * standardUncertainty(moduleMm));
        if (count >= 42) {
          expect(Math.abs(moduleMm.value / 0.6 - 1)).toBeLessThan(0.005);
          tried++;
        }
      });
    expect(tried).toBeGreaterThanOrEqual(18);
  });

  test("a form that fits neither assumption widens what is claimed", () => {
    // Involute teeth, ISO 53 rack: addendum 1, dedendum 1.25.
    const odd = moduleFromDiameters(60, measured(62, "tip"), measured(57.5, "root"), "T1")!;
    const usual = wheelOf(60, 1.46, 1);
    expect(standardUncertainty(odd.moduleMm)).toBeGreaterThan(1.2 * standardUncertainty(usual.moduleMm));
    expect(Math.abs(odd.moduleMm.value - 1)).toBeLessThan(2 * standardUncertainty(odd.moduleMm));
  });

  test("carries the scale of the mat through, and names what is assumed", () => {
    const { moduleMm, assumption } = wheelOf(60, 1.46, 1);
    // Relative, the same as for the diameters.
    expect(moduleMm.terms.get("scale:mat")! / moduleMm.value).toBeCloseTo(0.0003, 6);
    expect([...moduleMm.terms.keys()]).toContain("fit:addendum-T1");
    expect(assumption).toContain("addendum");
    expect(assumption).toContain("dedendum");
  });

  test("the tip alone would be out by the addendum: 0.29 % for 1.38 in place of 1.471", () => {
    // Closed form: (60 + 2 x 1.471) / (60 + 2 x 1.38).
    const byRule = (60 + 2 * 1.471) / (60 + 2 * 1.38);
    expect(byRule - 1).toBeCloseTo(0.0029, 4);
    const both = wheelOf(60, 1.471, 1).moduleMm;
    expect(Math.abs(both.value - 1)).toBeLessThan(byRule - 1);
  });
});

test("nearest preferred module (DIN 780, from memory)", () => {
  expect(nearestPreferredModule(0.61)).toBe(0.6);
  expect(nearestPreferredModule(0.79)).toBe(0.8);
  expect(nearestPreferredModule(1.01)).toBe(1);
  expect(nearestPreferredModule(0.01)).toBe(0.05);
  expect(nearestPreferredModule(9)).toBe(2);
});
