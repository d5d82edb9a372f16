import { expect, test } from "vitest";
import { tipSpillPx } from "../../../src/parts/wheel/tip-spill.js";

const usual = { flank: 0.55, bend: 1.54 };
const pxPerMm = 10;

test("a tooth that looks thicker has its tip further out, one whose addendum looks fuller has it further in", () => {
  const plain = tipSpillPx(usual, pxPerMm);
  expect(tipSpillPx({ ...usual, flank: 0.6 }, pxPerMm)).toBeGreaterThan(plain);
  expect(tipSpillPx({ ...usual, bend: 1.7 }, pxPerMm)).toBeLessThan(plain);
  // A bevel has its size on the wheel: in a coarser picture it takes fewer pixels.
  expect(Math.abs(tipSpillPx(usual, 0.4 * pxPerMm))).toBeLessThan(Math.abs(plain));
  // What light does to an edge ends after half a pixel or so.
  expect(tipSpillPx({ flank: 0.95, bend: 0.6 }, pxPerMm)).toBe(0.5);
});
