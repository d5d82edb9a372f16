import { expect, test } from "vitest";
import { isRodAlone } from "../../../src/parts/pinion/is-rod-alone.js";
import { piecesOnAxis, seenOnFace, type Axis } from "../../../src/parts/pinion/piece-on-axis.js";

const axis: Axis = { at: [60, 0], eye: { xMm: 0, yMm: 0, zMm: 350 } };

type Shape = (xMm: number, yMm: number) => boolean;

/** What stands on the axis between two heights over the face, `isIn` of it about its own middle, as the face's plane shows it. */
function standing(fromMm: number, toMm: number, isIn: Shape): Shape {
  const slices = Array.from({ length: 60 }, (_, k) => {
    const overMm = fromMm + ((toMm - fromMm) * k) / 59;
    return { middle: seenOnFace(axis, overMm), larger: axis.eye.zMm / (axis.eye.zMm - overMm) };
  });
  return (x, y) =>
    slices.some(({ middle, larger }) => isIn((x - middle[0]) / larger, (y - middle[1]) / larger));
}

const disc =
  (radiusMm: number): Shape =>
  (x, y) =>
    Math.hypot(x, y) < radiusMm;
/** Leaves with spaces as wide. */
const pinion =
  (leaves: number, tipMm: number): Shape =>
  (x, y) =>
    Math.hypot(x, y) < (Math.cos(leaves * Math.atan2(y, x)) > 0 ? tipMm : 0.6 * tipMm);
/** Between two arms, beyond the hub. */
const opening: Shape = (x, y) => Math.hypot(x - 69, y) < 4;

const isRod = (...shapes: readonly Shape[]): boolean => {
  const bareAt = (x: number, y: number): number => (shapes.some((shape) => shape(x, y)) ? 1 : 0);
  return isRodAlone(bareAt, piecesOnAxis(bareAt, axis));
};

test("a rod is one, thick or thin, also beside an opening of the wheel", () => {
  expect(isRod(standing(0, 12, disc(1.7)))).toBe(true);
  expect(isRod(standing(0, 12, disc(0.8)))).toBe(true);
  expect(isRod(standing(0, 12, disc(1.7)), opening)).toBe(true);
});

test("what has leaves is no rod, however thin", () => {
  for (const leaves of [6, 8, 12]) expect(isRod(standing(2, 9, pinion(leaves, 1.8)))).toBe(false);
});

test("leaves that hang on to the rod, stand apart from it, or reach over an opening are seen", () => {
  const leaves = pinion(8, 2.4);
  expect(isRod(standing(0, 12, disc(0.8)), standing(3, 9, leaves))).toBe(false);
  // A polished arbor mirrors the brass below it.
  expect(isRod(standing(0, 5, disc(0.8)), standing(14, 20, leaves))).toBe(false);
  expect(isRod(standing(0, 16, disc(0.8)), standing(16, 22, leaves), opening)).toBe(false);
});

test("what is as thick as a pinion is left to the network", () => {
  expect(isRod(standing(0, 12, disc(2.3)))).toBe(false);
});
