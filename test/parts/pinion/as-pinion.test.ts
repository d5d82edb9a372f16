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
  // BS 978-2, profile B, advised for 8 and 9 leaves: addendum 0.67 m (as carried by an open gear library).
  expect(pinion.moduleMm!.value).toBeCloseTo(6 / 9.34, 6);
});

test("pinions of 6, 10 and 12 leaves have the addenda that are advised for them", () => {
  // BS 978-2, profiles C, A, and A from 11 leaves: 0.855, 0.525 and 0.625 m (as carried by an open gear library).
  for (const [leaves, addendum] of [
    [6, 0.855],
    [10, 0.525],
    [12, 0.625],
  ] as const) {
    const moduleMm = 0.5;
    const pinion = asPinion(toothed(leaves, (leaves + 2 * addendum) * moduleMm), "p");
    expect(pinion.moduleMm!.value).toBeCloseTo(moduleMm, 6);
  }
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
