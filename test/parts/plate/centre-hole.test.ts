import { expect, test } from "vitest";
import { heightOfFace } from "../../../src/parts/face-height.js";
import { centreHole, type CentredHole } from "../../../src/parts/plate/centre-hole.js";
import { FaceHere } from "../../../src/parts/plate/local-face.js";
import { inventedPlate } from "./invented-plate.js";

/** What is found at the middle of a plate that is dark where it is cut away. */
function holeIn(isCut: (xMm: number, yMm: number) => boolean, reachMm: number): CentredHole | undefined {
  const plate = inventedPlate(200, (x, y) => (isCut(x, y) ? [30, 30, 30] : undefined));
  const guess = { xMm: 0, yMm: 0, areaMm2: reachMm ** 2, reachMm };
  const height = heightOfFace({ everyPartMm: 1 }, undefined);
  return centreHole(guess, plate, height, new FaceHere(plate.signal));
}

test("a round hole is centred, from a guess beside its middle", () => {
  const hole = holeIn((x, y) => Math.hypot(x - 0.3, y + 0.2) < 1.5, 1.5)!;
  const [x, y, radius] = hole.shape;
  expect(hole.xMm + x).toBeCloseTo(0.3, 1);
  expect(hole.yMm + y).toBeCloseTo(-0.2, 1);
  expect(radius).toBeCloseTo(1.5, 1);
});
