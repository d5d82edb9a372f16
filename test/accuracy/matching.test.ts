import { expect, test } from "vitest";
import { matchParts } from "./match-parts.js";

const wheel = (u: number, v: number, tipDiameterPx = 100) => ({ centrePx: [u, v] as const, tipDiameterPx });
const part = (u: number, v: number) => ({ centrePx: [u, v] as const });

test("pairs a part with the wheel that it lies on, whatever the order", () => {
  expect(matchParts([wheel(100, 100), wheel(300, 100)], [part(302, 99), part(101, 103)])).toEqual([1, 0]);
});

test("takes a part a quarter of the tip diameter away for another one", () => {
  expect(matchParts([wheel(100, 100)], [part(124.9, 100)])).toEqual([0]);
  expect(matchParts([wheel(100, 100)], [part(125, 100)])).toEqual([undefined]);
});

test("gives one wheel one part: the second is false", () => {
  expect(matchParts([wheel(100, 100)], [part(110, 100), part(103, 100)])).toEqual([1]);
});

test("gives one part to one wheel: the nearer takes it, the other is missed", () => {
  expect(matchParts([wheel(100, 100), wheel(120, 100)], [part(118, 100)])).toEqual([undefined, 0]);
});

test("finds nothing among nothing", () => {
  expect(matchParts([], [part(0, 0)])).toEqual([]);
  expect(matchParts([wheel(0, 0)], [])).toEqual([undefined]);
});
