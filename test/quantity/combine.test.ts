import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  add,
  combine,
  divide,
  multiply,
  propagate,
  quantity,
  scaleBy,
  standardUncertainty,
  subtract,
} from "../../src/quantity/index.js";

const scale = quantity(1, "1", [["scale:mat-across", 0.002]]);
const tip = multiply(quantity(48.2, "mm", [["edge:tip", 0.01]]), scale);
const root = multiply(quantity(44.1, "mm", [["edge:root", 0.02]]), scale);

describe("arithmetic by hand", () => {
  test("shared inputs add in a sum, cancel in a difference", () => {
    const sum = add(tip, root);
    expect(sum.value).toBeCloseTo(92.3, 12);
    expect(standardUncertainty(sum)).toBeCloseTo(Math.hypot(0.01, 0.02, 92.3 * 0.002), 12);
    const difference = subtract(tip, root);
    expect(standardUncertainty(difference)).toBeCloseTo(Math.hypot(0.01, 0.02, 4.1 * 0.002), 12);
  });
  test("q - q is 0 with u = 0", () => {
    const zero = subtract(tip, tip);
    expect(zero.value).toBe(0);
    expect(standardUncertainty(zero)).toBe(0);
  });
  test("the ratio of two diameters loses the scale term", () => {
    const ratio = divide(tip, root);
    expect(ratio.unit).toBe("1");
    expect(ratio.terms.get("scale:mat-across")).toBeCloseTo(0, 15);
    expect(standardUncertainty(ratio)).toBeCloseTo((48.2 / 44.1) * Math.hypot(0.01 / 48.2, 0.02 / 44.1), 12);
  });
  test("a product of independent factors adds relative uncertainties", () => {
    const product = multiply(quantity(3, "mm", [["edge:a", 0.03]]), quantity(2, "1", [["fit:b", 0.04]]));
    expect(product.unit).toBe("mm");
    expect(standardUncertainty(product) / product.value).toBeCloseTo(Math.hypot(0.01, 0.02), 12);
  });
  test("an exact factor scales value and terms", () => {
    const radius = scaleBy(tip, 0.5);
    expect(radius.value).toBeCloseTo(24.1, 12);
    expect(radius.unit).toBe("mm");
    expect(standardUncertainty(radius)).toBeCloseTo(standardUncertainty(tip) / 2, 15);
  });
  test("operands stay as they are", () => {
    const before = [...tip.terms];
    add(tip, root);
    scaleBy(tip, 3);
    expect([...tip.terms]).toEqual(before);
  });
});

describe("units", () => {
  const px = quantity(100, "px");
  test("a length times a length needs a unit, and gets the one that is stated", () => {
    // @ts-expect-error mm times mm has no unit here
    expect(() => multiply(tip, root)).toThrow(/mm times mm/);
    expect(multiply(tip, root, "1").value).toBeCloseTo(48.2 * 44.1, 9);
  });
  test("mm by px needs a unit; a sum of both is refused", () => {
    // @ts-expect-error mm by px has no unit here
    expect(() => divide(tip, px)).toThrow(/mm divided by px/);
    expect(divide(tip, px, "1").value).toBeCloseTo(0.482, 12);
    // @ts-expect-error a sum needs one unit
    expect(() => add(tip, px)).toThrow(RangeError);
  });
  test("division by zero is refused", () => {
    expect(() => divide(tip, quantity(0, "mm", [["edge:z", 1]]))).toThrow(RangeError);
  });
});

describe("combine", () => {
  test("agrees with derivatives by hand", () => {
    const x = quantity(0.7, "1", [["fit:x", 0.02]]);
    const y = quantity(-2, "1", [["fit:y", 0.03], ["fit:x", 0.01]]); // prettier-ignore
    const q = combine([x, y], ([a, b]) => Math.exp(a!) * b! ** 3);
    const [dx, dy] = [Math.exp(0.7) * -8, Math.exp(0.7) * 12];
    expect(q.terms.get("fit:x")! / (dx * 0.02 + dy * 0.01) - 1).toBeCloseTo(0, 7);
    expect(q.terms.get("fit:y")! / (dy * 0.03) - 1).toBeCloseTo(0, 7);
  });
  test("of the same quantity twice cancels exactly, also through a function", () => {
    expect(standardUncertainty(combine([tip, tip], ([a, b]) => a! - b!, "mm"))).toBe(0);
    expect(standardUncertainty(combine([tip, tip], ([a, b]) => a! / b!))).toBe(0);
  });
  test("agrees with the arithmetic for any values and terms", () => {
    const number = fc.double({ min: 0.5, max: 50, noNaN: true });
    const term = fc.double({ min: -0.01, max: 0.01, noNaN: true });
    fc.assert(
      fc.property(number, number, term, term, term, (a, b, shared, own, other) => {
        const p = quantity(a, "mm", [["scale:s", shared], ["edge:p", own]]); // prettier-ignore
        const q = quantity(b, "mm", [["scale:s", other]]);
        const byHand = divide(p, q);
        const numeric = combine([p, q], ([x, y]) => x! / y!);
        expect(numeric.value).toBe(byHand.value);
        // Curvature over a step of 1/128 of a term of 0.01, at 0.5 or more: 2.5e-8 of a partial term, and rounding.
        const tolerance = 5e-8 * 0.02 * (1 / b + a / b ** 2) + 1e-11;
        for (const [id, t] of byHand.terms)
          expect(Math.abs(numeric.terms.get(id)! - t)).toBeLessThan(tolerance);
      }),
      { seed: 3, numRuns: 100 },
    );
  });
  test("a function without a value at or beside the estimates is refused, by name", () => {
    const x = quantity(0.001, "1", [["fit:x", 1]]);
    expect(() => combine([quantity(-1, "1")], ([a]) => Math.log(a!))).toThrow(/not finite at/);
    expect(() => combine([x], ([a]) => Math.log(a!))).toThrow(/along fit:x/);
  });
});

test("propagate adds own terms to shared ones", () => {
  const q = propagate(5, "mm", [[tip, 2]], [["resolution:rule", 0.1], ["edge:tip", 0.5]]); // prettier-ignore
  expect(q.terms.get("edge:tip")).toBeCloseTo(0.52, 12);
  expect(q.terms.get("resolution:rule")).toBe(0.1);
});
