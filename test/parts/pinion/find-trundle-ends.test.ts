import { expect, test } from "vitest";
import { findTrundleEnds } from "../../../src/parts/pinion/find-trundle-ends.js";

const eyeMm = 350;
const circleMm = 3;

/** Steel ends in brass, evenly on a circle so far over the face, on an axis so far from the foot point; an arbor within. */
function ends(count: number, overMm: number, fromFootMm: number) {
  const axisAt = (mm: number) => {
    const larger = eyeMm / (eyeMm - mm);
    return { middle: [larger * fromFootMm, 0] as const, larger };
  };
  const { middle, larger } = axisAt(overMm);
  const spots = Array.from({ length: count }, (_, k): readonly [number, number] => {
    const t = 0.3 + (2 * Math.PI * k) / count;
    return [middle[0] + larger * circleMm * Math.cos(t), middle[1] + larger * circleMm * Math.sin(t)];
  });
  const brassAt = (x: number, y: number): number =>
    Math.hypot(x - middle[0], y) < 1 || spots.some(([a, b]) => Math.hypot(x - a, y - b) < 0.4) ? 0 : 1;
  return findTrundleEnds(brassAt, axisAt(9).middle, 15, axisAt);
}

test("ends of trundles well over the face are counted surely", () => {
  for (const count of [6, 7, 8, 10])
    expect(ends(count, 10, 60)).toMatchObject({
      count,
      probability: 0.98,
      overMm: expect.closeTo(10, 0) as number,
    });
});

test("an even ring that may lie in the face may be one of rivets or screws: not sure", () => {
  for (const count of [6, 8]) {
    expect(ends(count, 0, 60)!.probability).toBeLessThan(0.95);
    // Seen from straight above nothing tells how high it is.
    expect(ends(count, 10, 2)!.probability).toBeLessThan(0.95);
  }
});

test("four ends are not a lantern's", () => {
  expect(ends(4, 10, 60)).toBeUndefined();
});
