import { expect, test } from "vitest";
import { heightOfFace } from "../../src/parts/face-height.js";
import { standardUncertainty } from "../../src/quantity/index.js";

test("a label's own height goes before the height of every part", () => {
  const heights = { everyPartMm: 2, byLabelMm: { T1: 7.5 } };
  expect(heightOfFace(heights, "T1").faceMm("T1").value).toBe(7.5);
  expect(heightOfFace(heights, "T2").faceMm("T2").value).toBe(2);
  expect(heightOfFace(heights, undefined).faceMm("part-1").value).toBe(2);
});

test("a height that was not given is a guess, and is stated as less certain", () => {
  const guess = heightOfFace({}, "T1");
  const given = heightOfFace({ everyPartMm: 1.5 }, "T1");
  expect(guess.given).toBe(false);
  expect(given.given).toBe(true);
  expect(guess.uOutlineMm).toBeGreaterThan(3 * given.uOutlineMm);
  expect(standardUncertainty(guess.faceMm("T1"))).toBeGreaterThan(standardUncertainty(given.faceMm("T1")));
});

test("the outline lies under the bevel, between mat and face", () => {
  for (const faceMm of [0, 0.1, 1.2, 3, 12]) {
    const height = heightOfFace({ everyPartMm: faceMm }, undefined);
    expect(height.outlineMm).toBeLessThanOrEqual(faceMm);
    expect(height.outlineMm).toBeGreaterThanOrEqual(0.7 * faceMm);
    expect(height.edgesApartMm).toBeGreaterThanOrEqual(0);
    expect(height.edgesApartMm).toBeLessThanOrEqual(faceMm);
  }
});

test("a wheel on its arbor, high over the mat, is not as thick as it is high", () => {
  const high = heightOfFace({ everyPartMm: 12 }, undefined);
  expect(high.edgesApartMm).toBeLessThan(2.5);
  expect(high.outlineMm).toBeGreaterThan(11.5);
});

test("the height is owned by the part, so that two photographs of it share the term", () => {
  expect([...heightOfFace({}, "T1").faceMm("T1").terms.keys()]).toEqual(["height:T1"]);
});
