import fc from "fast-check";
import { expect, test } from "vitest";
import { Ratio } from "../../src/trains/index.js";

const whole = fc.bigInt({ min: -(10n ** 30n), max: 10n ** 30n });
const nonZero = whole.filter((n) => n !== 0n);
const ratio = fc.tuple(whole, nonZero).map(([n, d]) => Ratio.of(n, d));
const nonZeroRatio = ratio.filter((r) => !r.equals(Ratio.zero));

test("stands in lowest terms with a positive denominator", () => {
  expect(Ratio.of(-6, -8).toString()).toBe("3/4");
  expect(Ratio.of(6, -8).toString()).toBe("-3/4");
  expect(Ratio.of(936, 12).toString()).toBe("78");
});

test("ratios multiply and divide back exactly", () => {
  fc.assert(
    fc.property(ratio, nonZeroRatio, (a, b) => {
      expect(a.times(b).over(b).equals(a)).toBe(true);
      expect(a.times(b).equals(b.times(a))).toBe(true);
      expect(a.minus(b).compare(Ratio.zero)).toBe(a.compare(b));
    }),
  );
});

test("powers agree with repeated products, and negative ones undo them", () => {
  fc.assert(
    fc.property(nonZeroRatio, fc.integer({ min: 0, max: 6 }), (a, n) => {
      let product = Ratio.one;
      for (let i = 0; i < n; i++) product = product.times(a);
      expect(a.toPower(n).equals(product)).toBe(true);
      expect(a.toPower(-n).times(product).equals(Ratio.one)).toBe(true);
    }),
  );
});

test("comes down to a float even where both parts are beyond one", () => {
  const huge = 10n ** 400n;
  expect(Ratio.of(huge * 3n, huge + 1n).toNumber()).toBeCloseTo(3, 12);
  expect(Ratio.of(-1, 3).toNumber()).toBeCloseTo(-1 / 3, 15);
});

test("refuses 0 below the line and numbers that are not whole", () => {
  expect(() => Ratio.of(1, 0)).toThrow(RangeError);
  expect(() => Ratio.of(1.5)).toThrow(/whole number/);
  expect(() => Ratio.one.over(Ratio.zero)).toThrow(RangeError);
});
