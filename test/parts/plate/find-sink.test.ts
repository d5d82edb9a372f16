import { expect, test } from "vitest";
import { isInSink } from "../../../src/parts/plate/find-sink.js";
import { inventedPlate } from "./invented-plate.js";

type Light = (xMm: number, yMm: number) => number;

/** A hole of 1.6 mm in brass; light of the face as a share of that of bare brass, code values by a power of 0.42. */
function hasSink(light: Light): boolean {
  const plate = inventedPlate(140, (x, y) => {
    if (Math.hypot(x, y) < 0.8) return [40, 40, 41];
    const [r, g, b] = [200, 172, 100].map((c) => Math.round(c * light(x, y) ** 0.42)) as [
      number,
      number,
      number,
    ];
    return [r, g, b];
  });
  return isInSink(plate.sampler, plate.signal, 0, 0, 0.8);
}

test("a hollow round a hole, lit on one side and in shade on the other, is an oil sink", () => {
  expect(hasSink((x, y) => (Math.hypot(x, y) < 1.8 ? 0.9 + (0.2 * x) / Math.hypot(x, y) : 1))).toBe(true);
});

test("a plain face, a bush of other brass, a face brighter at one end, and a stain beside a hole are none", () => {
  expect(hasSink(() => 1)).toBe(false);
  expect(hasSink((x, y) => (Math.hypot(x, y) < 1.8 ? 0.8 : 1))).toBe(false);
  expect(hasSink((x) => 1 + 0.02 * x)).toBe(false);
  expect(hasSink((x, y) => (Math.hypot(x - 2, y) < 1 ? 0.5 : 1))).toBe(false);
});
