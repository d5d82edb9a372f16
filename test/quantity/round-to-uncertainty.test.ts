import fc from "fast-check";
import { expect, test } from "vitest";
import { roundToUncertainty } from "../../src/quantity/index.js";

// Source: JCGM 100:2008 (from memory), 7.2.6: 10.057 62 ohm with 27 mohm, 10.47 becomes 11, 28.05 becomes 28; 7.2.2 and
// 7.2.4: 100.021 47 g with 0.35 mg and 0.79 mg.
test.each([
  [10.05762, 0.027, "10.058", "0.027"],
  [0, 10.47, "0", "11"],
  [0, 28.05, "0", "28"],
  [100.02147, 0.00035, "100.02147", "0.00035"],
  [100.02147, 0.00079, "100.02147", "0.00079"],
])("%f with %f is printed %s and %s", (value, u, printedValue, printedU) => {
  expect(roundToUncertainty(value, u)).toEqual({ value: printedValue, u: printedU });
});

test.each([
  ["99.6 grows a digit", 5, 0.0996, "5.00", "0.10"],
  ["large uncertainties round whole numbers", 123456, 1234, "123500", "1300"],
  ["no negative zero", -0.001, 0.1, "0.00", "0.10"],
  ["negative values", -12.3456, 0.0123, "-12.346", "0.013"],
  ["tiny", 1.23456e-9, 2e-11, "0.000000001235", "0.000000000020"],
  ["whole tens", 47, 12, "47", "12"],
  ["an exact value stays", 0.1, 0, "0.1", "0"],
])("%s", (_, value, u, printedValue, printedU) => {
  expect(roundToUncertainty(value, u)).toEqual({ value: printedValue, u: printedU });
});

test("printed U has two significant digits, hardly below U and less than 10 % above; value moves by half a place", () => {
  fc.assert(
    fc.property(
      fc.double({ min: -1e4, max: 1e4, noNaN: true }),
      fc.double({ min: 1e-6, max: 1e4, noNaN: true }),
      (value, u) => {
        const printed = roundToUncertainty(value, u);
        expect(printed.u.replace(/^0\.0*|\./g, "").replace(/^(\d\d)0*$/, "$1")).toMatch(/^\d\d$/);
        expect(Number(printed.u)).toBeGreaterThanOrEqual(0.99 * u * (1 - 1e-12));
        // At most one unit of the second digit up.
        expect(Number(printed.u)).toBeLessThanOrEqual(1.1 * u);
        const decimals = (s: string): number => s.split(".")[1]?.length ?? 0;
        expect(decimals(printed.value)).toBe(decimals(printed.u));
        expect(Math.abs(Number(printed.value) - value)).toBeLessThanOrEqual(
          0.051 * Number(printed.u) + 1e-12,
        );
      },
    ),
    { seed: 17, numRuns: 500 },
  );
});

test("what is not a number or a negative uncertainty is misuse", () => {
  expect(() => roundToUncertainty(NaN, 1)).toThrow(RangeError);
  expect(() => roundToUncertainty(1, -1)).toThrow(RangeError);
  expect(() => roundToUncertainty(1, NaN)).toThrow(RangeError);
  expect(() => roundToUncertainty(1, Infinity)).toThrow(RangeError);
});
