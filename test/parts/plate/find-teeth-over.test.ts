import { expect, test } from "vitest";
import { findTeethOver, type TeethOver } from "../../../src/parts/plate/find-teeth-over.js";
import { inventedPhoto } from "../invented-photo.js";
import { straightDown } from "../straight-down.js";

const size = 640;
const pxPerMm = 10;

/** Teeth that are seen on brass whose light is not the same everywhere. */
function teethIn(lightAt: (radiusMm: number, angleRad: number) => number): TeethOver[] {
  const rgb = new Uint8Array(3 * size * size);
  for (let j = 0, p = 0; j < size; j++)
    for (let i = 0; i < size; i++, p += 3) {
      const [x, y] = [(i - size / 2) / pxPerMm, (size / 2 - j) / pxPerMm];
      const light = lightAt(Math.hypot(x, y), Math.atan2(y, x));
      rgb.set(
        [150, 129, 75].map((code) => Math.round(code * light)),
        p,
      );
    }
  const above = straightDown(300);
  const geometry = { ...above, camera: { ...above.camera, cxPx: size / 2, cyPx: size / 2 } };
  const half = 28;
  const hull = [
    [-half, -half],
    [half, -half],
    [half, half],
    [-half, half],
  ] as const;
  return findTeethOver(inventedPhoto(size, size, rgb), geometry, hull, 0);
}

// Wheels that are found: test/parts/heaps.test.ts.
test("blotches whose coarser waves are the stronger ones, as where a plate is blown out, are no teeth", () => {
  // A spectrum without a peak; the phases are any.
  const blotches = (t: number): number => {
    let sum = 0;
    for (let n = 4; n < 60; n++) sum += Math.exp(-n / 7) * Math.cos(n * t + 2.4 * n * n);
    return 0.25 * sum;
  };
  expect(teethIn((r, t) => (Math.abs(r - 20) < 1 ? 1.3 + blotches(t) : 1))).toEqual([]);
});
