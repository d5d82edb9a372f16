import { expect, test } from "vitest";
import { matFromPixel, pixelFromMat, rotationFromVector } from "../../src/geometry/index.js";
import { pixelFromFace, PlaneToPixel, pxPerMmOnFace } from "../../src/parts/face-plane.js";
import { faceAt, straightDown } from "./straight-down.js";

const turned = {
  camera: { fxPx: 2900, fyPx: 2910, cxPx: 1990, cyPx: 1510, k1: 0.05, k2: -0.02 },
  cameraFromMat: { rotation: rotationFromVector(3, 0.2, -0.1), translationMm: [5, -8, 390] },
};

test("maps a plane as the camera does, lens and all", () => {
  let tried = 0;
  for (const lens of [{}, { p1: 0.0015, p2: -0.001 }])
    for (const z of [0, 1.5, 12]) {
      const geometry = { ...turned, camera: { ...turned.camera, ...lens } };
      const map = new PlaneToPixel(geometry, z);
      for (const [x, y] of [
        [0, 0],
        [60, -90],
        [-85, 120],
      ] as const) {
        map.at(x, y);
        const [u, v] = pixelFromMat(geometry, x, y, z);
        expect(Math.hypot(map.u - u, map.v - v)).toBeLessThan(1e-9);
        tried++;
      }
    }
  expect(tried).toBe(18);
});

test("walks round a circle of the plane and back", () => {
  const face = faceAt(turned, 12, -30, 1.4);
  for (const t of [0, 1, 2.5, 4]) {
    const [x, y] = matFromPixel(turned, ...pixelFromFace(face, 18, t), 1.4);
    expect(x).toBeCloseTo(12 + 18 * Math.cos(t), 8);
    expect(y).toBeCloseTo(-30 + 18 * Math.sin(t), 8);
  }
});

test("trap 1: a face 10 mm up is seen 2.56 % larger", () => {
  const scale = (z: number): number => pxPerMmOnFace(faceAt(straightDown(400), 0, 0, z));
  // Closed form f / (D - h).
  expect(scale(0)).toBeCloseTo(3000 / 400, 9);
  expect(scale(10) / scale(0) - 1).toBeCloseTo(10 / 390, 9);
});
