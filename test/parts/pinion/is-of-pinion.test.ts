import { expect, test } from "vitest";
import { isOfPinion } from "../../../src/parts/pinion/is-of-pinion.js";

// A pinion of 12 leaves, counted from close, was listed a second time as a ratchet of 11 about the middle of its walls.
test("what has its middle within a pinion on its end is that pinion, not a part beside it", () => {
  const pinion = { xMm: 10, yMm: 20, reachMm: 8 };
  expect(isOfPinion({ xMm: 14, yMm: 25 }, pinion)).toBe(true);
  expect(isOfPinion({ xMm: 17, yMm: 25 }, pinion)).toBe(false);
});

test("a small part beside the middle of an arbor that lies is one of its own", () => {
  expect(isOfPinion({ xMm: 14, yMm: 25 }, { xMm: 10, yMm: 20, reachMm: 25 })).toBe(false);
});
