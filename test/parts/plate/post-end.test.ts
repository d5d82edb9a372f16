import { expect, test } from "vitest";
import { heightOfFace } from "../../../src/parts/face-height.js";
import { findOpenHoles } from "../../../src/parts/plate/find-open-holes.js";
import { inventedPlate } from "./invented-plate.js";

const grey = [125, 125, 126] as const;
const dark = [80, 80, 82] as const;
/** A wall of brass, as light as the grey. */
const wall = [148, 127, 74] as const;
/** From the foot point of a camera 300 mm up: a millimetre of depth or height is seen 0.17 mm beside itself. */
const atMm = 50;
const leanMm = atMm / 300;
const radiusMm = 1.5;

/** What stands or gapes at `atMm`, 0, in a plate of 18 mm. */
function within(codeAt: (xMm: number, yMm: number) => readonly [number, number, number] | undefined) {
  const plate = inventedPlate(1200, (x, y) => codeAt(x - atMm, y));
  const outline = [
    [41, -9],
    [59, -9],
    [59, 9],
    [41, 9],
  ] as const;
  return findOpenHoles(plate, outline, heightOfFace({ everyPartMm: 2.4 }, undefined), 0.7);
}

test("an even grey disc without a wall is not called a hole: it may be the end of a post that is flush with the face", () => {
  const { holes, noHoles } = within((x, y) => (Math.hypot(x, y) < radiusMm ? grey : undefined));
  expect(holes).toEqual([]);
  expect(noHoles).toHaveLength(1);
  expect(noHoles[0]!.isPost).toBe(false);
  expect(noHoles[0]!.xMm).toBeCloseTo(atMm, 1);
  expect(2 * noHoles[0]!.radiusMm).toBeCloseTo(2 * radiusMm, 1);
});

test("a floor as grey and as even, beside the wall on the far side, is that of a hole", () => {
  const { holes, noHoles } = within((x, y) => {
    if (Math.hypot(x, y) > radiusMm) return undefined;
    return Math.hypot(x + 3.5 * leanMm, y) < radiusMm ? grey : wall;
  });
  expect(noHoles).toEqual([]);
  expect(holes).toHaveLength(1);
});

test("a post that stands above the face, its own wall on the side towards the foot point, is called one", () => {
  for (const upMm of [1, 2.5, 4]) {
    const shift = upMm * leanMm;
    const { holes, noHoles } = within((x, y) => {
      if (Math.hypot(x - shift, y) < radiusMm) return grey;
      const nearest = Math.max(0, Math.min(shift, x));
      return Math.hypot(x - nearest, y) < radiusMm ? dark : undefined;
    });
    expect(holes).toEqual([]);
    expect(noHoles).toHaveLength(1);
    // Of 1 mm no more is seen than blur and bevel hide.
    if (upMm > 1) expect(noHoles[0]!.isPost).toBe(true);
  }
});

test("sheet that lies in good light in a hole is as even, and brighter than steel", () => {
  const { holes } = within((x, y) => (Math.hypot(x, y) < radiusMm ? [205, 205, 203] : undefined));
  // From straight above, so that no wall need be seen: the same disc at the foot point.
  const plate = inventedPlate(380, (x, y) => (Math.hypot(x, y) < radiusMm ? [205, 205, 203] : undefined));
  const square = [
    [-9, -9],
    [9, -9],
    [9, 9],
    [-9, 9],
  ] as const;
  const above = findOpenHoles(plate, square, heightOfFace({ everyPartMm: 2.4 }, undefined), 0.7);
  expect(holes).toEqual([]);
  expect(above.holes).toHaveLength(1);
});
