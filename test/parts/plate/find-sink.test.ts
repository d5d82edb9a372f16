import { expect, test } from "vitest";
import { findSink, type Sink } from "../../../src/parts/plate/find-sink.js";
import { FaceHere } from "../../../src/parts/plate/local-face.js";
import { inventedPlate } from "./invented-plate.js";

type Light = (xMm: number, yMm: number) => number;
type Hue = readonly [number, number, number];

const brass: Hue = [200, 172, 100];
const holeRadiusMm = 0.8;

/** Round a hole of 1.6 mm in brass; light of the face as a share of that of bare brass, code values by a power of 0.42. */
function sinkIn(
  light: Light,
  leanMm: readonly [number, number] = [0, 0],
  hueAt: (xMm: number, yMm: number) => Hue = () => brass,
): Sink | undefined {
  const plate = inventedPlate(140, (x, y) => {
    if (Math.hypot(x, y) < holeRadiusMm) return [40, 40, 41];
    return hueAt(x, y).map((c) => Math.round(c * light(x, y) ** 0.42)) as unknown as Hue;
  });
  return findSink(plate, { xMm: 0, yMm: 0, radiusMm: holeRadiusMm }, new FaceHere(plate.signal), leanMm);
}

/** A sink of 3.6 mm whose rim lies about a point: brighter to one side. */
const hollow =
  (xMm: number, yMm: number): Light =>
  (x, y) =>
    Math.hypot(x - xMm, y - yMm) < 1.8 ? 0.9 + (0.2 * x) / Math.hypot(x, y) : 1;

test("a hollow round a hole, lit on one side and in shade on the other, is an oil sink", () => {
  expect(sinkIn(hollow(0, 0))).toBeDefined();
});

test("a plain face, a bush of other brass, a face brighter at one end, and a stain beside a hole are none", () => {
  const red: Hue = [205, 150, 110];
  expect(sinkIn(() => 1)).toBeUndefined();
  expect(
    sinkIn(
      () => 1,
      [0, 0],
      (x, y) => (Math.hypot(x, y) < 1.8 ? red : brass),
    ),
  ).toBeUndefined();
  expect(sinkIn((x) => 1 + 0.02 * x)).toBeUndefined();
  expect(sinkIn((x, y) => (Math.hypot(x - 2, y) < 1 ? 0.5 : 1))).toBeUndefined();
});

test("seen aslant, how far a hole lies beside its rim tells how deep it is", () => {
  // Each millimetre of depth is seen 0.4 mm to the right: the rim of a deeper hole lies further to the left.
  const at = (depthMm: number): Sink => sinkIn(hollow(-0.4 * depthMm, 0), [0.4, 0])!;
  const [shallow, deep] = [at(0.3), at(1)];
  expect(shallow.rim!.radiusMm).toBeCloseTo(1.8, 0);
  expect(shallow.rim!.depthMm).toBeGreaterThan(0.1);
  expect(shallow.rim!.depthMm).toBeLessThan(0.5);
  expect(deep.rim!.depthMm).toBeGreaterThan(0.8);
  expect(deep.rim!.depthMm).toBeLessThan(1.2);
  for (const [sink, depthMm] of [
    [shallow, 0.3],
    [deep, 1],
  ] as const)
    expect(Math.abs(sink.depthMm - depthMm)).toBeLessThan(2 * sink.uDepthMm);
  expect(deep.uDepthMm).toBeLessThan(0.25);
});

test("seen from straight above, the depth is what is usual, and hardly known", () => {
  const { depthMm, uDepthMm } = sinkIn(hollow(0, 0))!;
  expect(depthMm).toBeGreaterThan(0.3);
  expect(depthMm).toBeLessThan(1);
  expect(uDepthMm).toBeGreaterThan(0.25);
});
