import { expect, test } from "vitest";
import { weighAgainstHalfHeight } from "../../../src/parts/plate/against-half-height.js";
import type { CentredHole } from "../../../src/parts/plate/centre-hole.js";
import type { HoleShape } from "../../../src/parts/plate/fit-hole-edge.js";
import type { FittedHole } from "../../../src/parts/plate/fit-holes.js";

/** A hole of 1 mm radius below its bevel, at 10 px/mm, known to 0.01 mm. */
function fitted(half: HoleShape, face: { isByOwnFace: boolean; isBlown: boolean }): FittedHole {
  const hole = {
    shape: half,
    rays: [{ stepMm: 0.05 }],
    support: 1,
    isByOwnFace: face.isByOwnFace,
    here: { isBlown: face.isBlown, hasColour: true },
  } as unknown as CentredHole;
  return { hole, fit: { shape: [0, 0, 1, 0, 0], uShapeMm: [0.01, 0.01, 0.01, 0.01, 0.01], support: 1 } };
}

const plain = { isByOwnFace: false, isBlown: false };
const dark = { isByOwnFace: true, isBlown: false };
const white = { isByOwnFace: true, isBlown: true };
/** Half height takes the bevel for the hole. */
const usual: HoleShape = [0, 0, 1.05, 0, 0];

test("where the face is as bright as in the plate's middle, the edge below the bevel counts as it is", () => {
  const [hole] = weighAgainstHalfHeight(Array.from({ length: 5 }, () => fitted(usual, plain)));
  expect(hole!.fit).toEqual(fitted(usual, plain).fit);
});

test("a hole about which both ways differ more than about its neighbours is known less well", () => {
  const others = Array.from({ length: 4 }, () => fitted(usual, plain));
  const odd = fitted([0, 0, 1.2, 0.1, 0], plain);
  const { fit } = weighAgainstHalfHeight([...others, odd])[4]!;
  expect(fit.shape).toEqual([0, 0, 1, 0, 0]);
  // 0.15 mm off what is usual, of which 0.045 mm is nothing unusual; an oval of 0.4 mm against 0.25 mm.
  expect(fit.uShapeMm[2]).toBeCloseTo(Math.hypot(0.01, 0.105, 0.15 / 4), 3);
  expect(fit.uShapeMm[3]).toBeCloseTo(Math.hypot(0.01, 0.15 / 4), 3);
});

test("where the face is dark both ways err, to either side, and their middle is believed to half of what they differ", () => {
  const { fit } = weighAgainstHalfHeight([fitted([0, 0, 0.8, 0, 0], dark)])[0]!;
  expect(fit.shape[2]).toBeCloseTo(0.9, 6);
  expect(fit.uShapeMm[2]).toBeGreaterThan(0.1);
});

test("where the face is white no bevel is seen: half height alone counts", () => {
  const { fit } = weighAgainstHalfHeight([fitted([0.02, 0, 0.97, 0, 0], white)])[0]!;
  expect(fit.shape).toEqual([0.02, 0, 0.97, 0, 0]);
});
