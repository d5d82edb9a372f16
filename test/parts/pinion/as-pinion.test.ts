import { expect, test } from "vitest";
import type { Part } from "../../../src/parts/index.js";
import { asPinion } from "../../../src/parts/pinion/as-pinion.js";
import { quantity } from "../../../src/quantity/index.js";

const toothed = (count: number, tipMm: number, crossings = 0): Part => ({
  outlinePx: { tipCircle: [], rootCircle: [], pitchCircle: [] },
  id: "part-1",
  kind: "wheel",
  centrePx: [0, 0],
  teeth: { count, probability: 0.99, alternatives: [], places: [], missing: [], bent: [] },
  tipDiameterMm: quantity(tipMm, "mm", [["edge:tip", 0.05]]),
  crossings: { count: crossings },
  findings: [],
  problems: [],
});

test("a small solid part of eight teeth is a pinion", () => {
  const pinion = asPinion(toothed(8, 6), "p");
  expect(pinion.kind).toBe("pinion");
  // Rule of thumb for up to 10 leaves: tip diameter = (n + 1.71) m (from memory).
  expect(pinion.moduleMm!.value).toBeCloseTo(6 / 9.71, 6);
});

test("a brass wheel of 13 teeth, 22 mm across, is no pinion and keeps the module of a wheel", () => {
  const wheel = toothed(13, 22.6);
  expect(asPinion(wheel, "p")).toBe(wheel);
});

test("what has crossings is no pinion, however small", () => {
  const wheel = toothed(14, 11, 4);
  expect(asPinion(wheel, "p")).toBe(wheel);
});

test("more teeth than pinions have make a wheel", () => {
  const wheel = toothed(17, 8);
  expect(asPinion(wheel, "p")).toBe(wheel);
});
