import { expect, test } from "vitest";
import { divideCircle } from "../../../src/parts/pins/divide-circle.js";

const turn = 2 * Math.PI;
const even = (n: number, phase = 0.3): number[] =>
  Array.from({ length: n }, (_, i) => phase + (i * turn) / n);
const statesOf = (marks: readonly number[], isSeen = (): boolean => true) =>
  divideCircle(marks, isSeen).places.map((p) =>
    p.index === undefined ? (p.isSeen ? "empty" : "hidden") : "pin",
  );

test.each([2, 3, 8, 12])("divides a circle by %i pins that stand evenly", (n) => {
  const { places } = divideCircle(even(n), () => true);
  expect(places).toHaveLength(n);
  for (const p of places) expect(Math.abs(p.offRad)).toBeLessThan(1e-9);
});

test("finds the empty place of one of ten pins that is gone", () => {
  const marks = even(10).filter((_, i) => i !== 4);
  expect(statesOf(marks).filter((s) => s === "empty")).toHaveLength(1);
  const empty = divideCircle(marks, () => true).places.find((p) => p.index === undefined)!;
  expect(empty.angleRad).toBeCloseTo(0.3 + (4 * turn) / 10, 6);
});

test("supposes pins where glare hides the face, over a third of the turn", () => {
  expect(statesOf(even(10).slice(0, 7), () => false).filter((s) => s === "hidden")).toHaveLength(3);
});

test("does not make five pins out of three that are set unevenly", () => {
  const { places } = divideCircle([0, 1.9, 4.4], () => true);
  expect(places).toHaveLength(3);
  expect(Math.max(...places.map((p) => Math.abs(p.offRad)))).toBeGreaterThan(0.1);
});

test("keeps a pin that is a tenth of the division off its place there, and says by how much", () => {
  const marks = even(8);
  marks[3]! += 0.1 * (turn / 8);
  const { places } = divideCircle(marks, () => true);
  expect(places).toHaveLength(8);
  const worst = places.reduce((a, b) => (Math.abs(a.offRad) > Math.abs(b.offRad) ? a : b));
  expect(worst.index).toBe(3);
  // The division itself turns by an eighth of the error.
  expect(worst.offRad).toBeCloseTo(0.0875 * (turn / 8), 3);
});
