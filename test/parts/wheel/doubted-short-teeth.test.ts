import { expect, test } from "vitest";
import type { ToothPlace } from "../../../src/parts/part.js";
import { doubtedShortTeeth } from "../../../src/parts/wheel/doubted-short-teeth.js";

/** Forty teeth whose tips scatter by about 0.03 mm, and one that ends lower by `loweredMm` and was found short. */
const teeth = (loweredMm: number): ToothPlace[] =>
  Array.from({ length: 40 }, (_, i) => ({
    number: i + 1,
    angleRad: (2 * Math.PI * i) / 40,
    state: i === 7 ? "short" : "whole",
    tipPx: [0, 0] as const,
    tipDeviationMm: i === 7 ? -loweredMm : 0.04 * Math.sin(5 * i * i),
  }));

test("a tooth that ends far below its fellows stays short", () => {
  expect(doubtedShortTeeth(teeth(0.6), 20, 1.5, false).size).toBe(0);
});

// A wheel of 144 teeth in a picture packed to 41 %: six whole teeth were called short.
test("one that ends no lower than teeth of this picture scatter is not called so", () => {
  expect([...doubtedShortTeeth(teeth(0.1), 20, 1.5, false)]).toEqual([7]);
});

// Teeth under the rim of another wheel were called short, though their tips were found further out than usual.
test("nor one that ends higher than the others", () => {
  expect([...doubtedShortTeeth(teeth(-0.3), 20, 1.5, false)]).toEqual([7]);
});

test("of raked teeth the tips say little of how long they are", () => {
  expect(doubtedShortTeeth(teeth(0.1), 20, 1.5, true).size).toBe(0);
});

// Thirty-two of 55 teeth of 3.3 px were called short.
test("teeth finer than eight pixels are not looked at one by one", () => {
  expect([...doubtedShortTeeth(teeth(2), 7, 1.5, false)]).toEqual([7]);
});
