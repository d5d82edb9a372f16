import { expect, test } from "vitest";
import { circleTerms, stretchTerms } from "../../src/parts/camera-terms.js";
import { faceAt, straightDown, viewOf } from "./straight-down.js";

const cameraMm = 400;
const zMm = 2;
const radiusMm = 20;
const plain = straightDown(cameraMm);

test("a face that is higher is smaller by R / (D - h) per mm, and stays under the camera", () => {
  const face = faceAt(plain, 0, 0, zMm);
  const uMm = 0.06;
  const [term] = circleTerms(viewOf(plain), face, radiusMm, { id: "height:T1", uMm });
  // Closed form, exact: the same pixels on a plane uMm nearer.
  expect(term!.stretch).toBeCloseTo(-uMm / (cameraMm - zMm), 12);
  expect(Math.hypot(term!.dxMm, term!.dyMm)).toBeLessThan(1e-9);
  expect(stretchTerms([term!], 2 * radiusMm)[0]).toEqual(["height:T1", term!.stretch * 2 * radiusMm]);
});

test("off the foot point the same height also moves the centre towards it", () => {
  const face = faceAt(plain, 80, -30, zMm);
  const [term] = circleTerms(viewOf(plain), face, radiusMm, { id: "height:T1", uMm: 0.1 });
  expect(term!.dxMm).toBeCloseTo((-0.1 * 80) / (cameraMm - zMm), 9);
  expect(term!.dyMm).toBeCloseTo((0.1 * 30) / (cameraMm - zMm), 9);
  expect(term!.stretch).toBeCloseTo(-0.1 / (cameraMm - zMm), 9);
});

test("reads the circle again through a camera of longer focus, and through one with unequal axes", () => {
  const face = faceAt(plain, 0, 0, zMm);
  const { camera } = plain;
  const longer = { ...plain, camera: { ...camera, fxPx: 3003, fyPx: 3003 } };
  const uneven = { ...plain, camera: { ...camera, fxPx: 3003 } };
  const view = viewOf(plain, [
    { id: "pose:focus", geometry: longer },
    { id: "pose:aspect", geometry: uneven },
  ]);
  const [focus, aspect] = circleTerms(view, face, radiusMm, undefined);
  expect(focus!.id).toBe("pose:focus");
  expect(focus!.stretch).toBeCloseTo(3000 / 3003 - 1, 9);
  expect(Math.hypot(...focus!.ovalMm)).toBeLessThan(1e-9);
  // One axis shorter by q: mean radius by q / 2, second harmonic of amplitude R q / 2 along x.
  const q = 3000 / 3003 - 1;
  expect(aspect!.stretch).toBeCloseTo(q / 2, 6);
  expect(aspect!.ovalMm[0]).toBeCloseTo((radiusMm * q) / 2, 6);
  expect(aspect!.ovalMm[1]).toBeCloseTo(0, 9);
});

test("a camera that stood elsewhere moves the centre and leaves the radius", () => {
  const moved = straightDown(cameraMm, [0.05, -0.02]);
  const view = viewOf(plain, [{ id: "pose:stand", geometry: moved }]);
  const [term] = circleTerms(view, faceAt(plain, 10, 10, zMm), radiusMm, undefined);
  expect(term!.dxMm).toBeCloseTo(0.05, 9);
  expect(term!.dyMm).toBeCloseTo(-0.02, 9);
  expect(term!.stretch).toBeCloseTo(0, 12);
});

test("no height term without a height", () => {
  expect(circleTerms(viewOf(plain), faceAt(plain, 0, 0, zMm), radiusMm, undefined)).toEqual([]);
});
