import { expect, test } from "vitest";
import { pixelFromMat, type ViewGeometry } from "../../../src/geometry/index.js";
import { geometryOnLean, leanAngleRad, matFromLean, type Lean } from "../../../src/parts/leaning/lean.js";

const geometry: ViewGeometry = {
  camera: { fxPx: 3000, fyPx: 3010, cxPx: 1000, cyPx: 760, k1: 0.03, k2: -0.01 },
  cameraFromMat: {
    // Straight above, x to the right, y up: turned by half a turn about x.
    rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1],
    translationMm: [3, -4, 380],
  },
};
const lean: Lean = { turnRad: [0.2, -0.1], xMm: 12, yMm: -30, raisedMm: 6 };

test("a point of the leaning frame is seen where its place over the mat is", () => {
  const there = geometryOnLean(geometry, lean);
  for (const [x, y, z] of [
    [12, -30, 0],
    [40, -10, 1.4],
    [-5, -52, 20],
  ] as const) {
    const seen = pixelFromMat(there, x, y, z);
    const expected = pixelFromMat(geometry, ...matFromLean(lean, x, y, z));
    expect(seen[0]).toBeCloseTo(expected[0], 8);
    expect(seen[1]).toBeCloseTo(expected[1], 8);
  }
});

test("the middle of the lower face is raised, and the plane turned about an axis through it", () => {
  const middle = matFromLean(lean, 12, -30, 0);
  [12, -30, 6].forEach((v, i) => expect(middle[i]).toBeCloseTo(v, 12));
  // Along the axis nothing rises; square to it everything does, by the sine of the lean.
  const axis = [0.2, -0.1].map((v) => v / leanAngleRad(lean));
  const along = matFromLean(lean, 12 + 10 * axis[0]!, -30 + 10 * axis[1]!, 0);
  expect(along[2]).toBeCloseTo(6, 12);
  const across = matFromLean(lean, 12 - 10 * axis[1]!, -30 + 10 * axis[0]!, 0);
  expect(Math.abs(across[2] - 6)).toBeCloseTo(10 * Math.sin(leanAngleRad(lean)), 12);
});
