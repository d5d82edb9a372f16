import { expect, test } from "vitest";
import { heightOfFace } from "../../../src/parts/face-height.js";
import { findOpenHoles } from "../../../src/parts/plate/find-open-holes.js";
import { fitHoles } from "../../../src/parts/plate/fit-holes.js";
import { measureHole } from "../../../src/parts/plate/measure-hole.js";
import { viewOf } from "../straight-down.js";
import { inventedPlate } from "./invented-plate.js";

const atMm = 14;

test("a hole in an oil sink lies deeper than the face, and is placed where it is seen less that", () => {
  // 300 mm below the camera and 14 mm beside its foot point: a millimetre of depth is seen 0.047 mm nearer to that.
  const plate = inventedPlate(380, (x, y) => {
    const [dx, dy] = [x - atMm, y];
    if (Math.hypot(dx, dy) < 0.75) return [215, 215, 213];
    const light = Math.hypot(dx, dy) < 1.9 ? 0.8 + (0.15 * dy) / Math.hypot(dx, dy) : 1;
    return [200, 172, 100].map((c) => Math.round(c * light ** 0.42)) as [number, number, number];
  });
  const outline = [
    [-18, -18],
    [18, -18],
    [18, 18],
    [-18, 18],
  ] as const;
  const { holes } = findOpenHoles(plate, outline, heightOfFace({ everyPartMm: 1 }, undefined), 0.7);
  const [fitted] = fitHoles(holes);
  const { sink, ...plain } = fitted!.hole;
  const seen = { ...plate, view: viewOf(plate.view.geometry) };
  const [deep, flat] = [fitted!, { ...fitted!, hole: plain }].map((f) =>
    measureHole(f, seen, "part", undefined),
  );
  expect(flat!.centreMm[0]).toBeCloseTo(atMm, 1);
  // The plane of outlines lies 0.1 mm below the face.
  const leanMm = atMm / 300;
  expect(deep!.centreMm[0] - flat!.centreMm[0]).toBeCloseTo((sink!.depthMm - 0.1) * leanMm, 3);
  expect(deep!.uCentreMm).toBeCloseTo(Math.hypot(flat!.uCentreMm, sink!.uDepthMm * leanMm), 3);
});
