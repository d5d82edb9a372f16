import { expect, test } from "vitest";
import { selectInPlace } from "../../src/fit/select-in-place.js";
import { medianOf } from "../../src/fit/index.js";
import { seededRandom } from "../../src/quantity/index.js";

test("gives what sorting gives, at every place, also of equal values and of sorted ones", () => {
  const random = seededRandom(5);
  const lists = [
    [3],
    [2, 1],
    [5, 5, 5, 5],
    Array.from({ length: 40 }, (_, i) => i),
    Array.from({ length: 40 }, (_, i) => -i),
    Array.from({ length: 101 }, () => random.uniform()),
    Array.from({ length: 100 }, () => Math.floor(8 * random.uniform())),
  ];
  for (const list of lists) {
    const sorted = Float64Array.from(list).sort();
    for (let k = 0; k < list.length; k++) expect(selectInPlace(Float64Array.from(list), k)).toBe(sorted[k]);
  }
});

test("the median keeps to the order in which NaN comes last, and leaves its list as it was", () => {
  const list = [4, NaN, 1, 3, NaN];
  expect(medianOf(list)).toBe(4);
  expect(medianOf([4, 1, NaN, 3])).toBe(3.5);
  expect(medianOf([2, NaN])).toBeNaN();
  expect(list).toEqual([4, NaN, 1, 3, NaN]);
  expect(medianOf([4, 1, 3, 2])).toBe(2.5);
  expect(() => medianOf([])).toThrow(RangeError);
});
