import { expect, test } from "vitest";
import { multiply3, pixelFromMat, rotationFromVector } from "../../../src/geometry/index.js";
import { whereToLook } from "../../../src/parts/find/where-to-look.js";
import { quantity } from "../../../src/quantity/index.js";
import type { View } from "../../../src/view/index.js";

test("a wheel in a close photograph of one corner of the sheet is looked for, however far the other corners are", () => {
  const rotation = multiply3(rotationFromVector(Math.PI - 0.38, 0, 0), rotationFromVector(0, 0, 0.04));
  const target = [-35, 60, 0];
  const t = [0, 1, 2].map((i) => -[0, 1, 2].reduce((s, j) => s + rotation[3 * i + j]! * target[j]!, 0));
  const view: View = {
    source: "mat",
    geometry: {
      // As it was solved for a rendered photograph in which no wheel was found.
      camera: { fxPx: 1912, fyPx: 1912, cxPx: 755, cyPx: 1033, k1: -0.008, k2: -0.0654 },
      cameraFromMat: { rotation, translationMm: [t[0]!, t[1]!, t[2]! + 165] },
    },
    inputs: [],
    edge: { blurSigmaPx: 1, shiftPx: 0, uShiftPx: 0.05 },
    mat: {
      paper: "a4",
      revision: 1,
      markers: [],
      reprojectionRmsPx: 0,
      printScaleAcross: quantity(1, "1", []),
      printScaleAlong: quantity(1, "1", []),
      printScaleMeasured: false,
    },
    tags: [],
    problems: [],
  };
  const picture = { factor: 2, width: 768, height: 1024, rgb: new Uint8Array(3 * 768 * 1024) };
  const where = whereToLook(picture, view);
  const at = (x: number, y: number): number => {
    const [u, v] = pixelFromMat(view.geometry, x, y, 0);
    return where[Math.round(v / 2) * picture.width + Math.round(u / 2)]!;
  };
  expect(at(-40, 65)).toBe(1);
  expect(at(-20, 30)).toBe(1);
  // Beside the sheet there is table.
  expect(where[20 * picture.width + 400]).toBe(0);
  expect(where.reduce((s, v) => s + v, 0) / where.length).toBeGreaterThan(0.5);
});
