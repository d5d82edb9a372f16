import { describe, expect, test } from "vitest";
import { pixelFromMat, type ViewGeometry } from "../../../src/geometry/index.js";
import {
  fitLeaningTeeth,
  leansOfOutline,
  restingLean,
  type LeaningCircle,
  type SeenTooth,
} from "../../../src/parts/leaning/fit-lean.js";
import { geometryOnLean, type Lean } from "../../../src/parts/leaning/lean.js";
import { random } from "../../scenes/index.js";

const geometry: ViewGeometry = {
  camera: { fxPx: 3000, fyPx: 3000, cxPx: 1000, cyPx: 760, k1: 0, k2: 0 },
  cameraFromMat: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translationMm: [0, 0, 350] },
};
const pxPerMm = 3000 / 350;
const support = { outlineMm: 1.4 };
const radiusMm = 25;
const count = 72;
const pitchRad = (2 * Math.PI) / count;

function seen(lean: Lean, noisePx: number, phaseRad: number): SeenTooth[] {
  const rng = random(7, "teeth");
  const there = geometryOnLean(geometry, lean);
  const at = (r: number, t: number): [number, number] =>
    pixelFromMat(there, lean.xMm + r * Math.cos(t), lean.yMm + r * Math.sin(t), support.outlineMm);
  return Array.from({ length: count }, (_, place) => {
    const t = phaseRad + place * pitchRad;
    const px = at(radiusMm, t);
    const out = at(radiusMm + 1, t);
    const along = at(radiusMm, t + 1 / radiusMm);
    return {
      place,
      px: [px[0] + rng.normal(noisePx), px[1] + rng.normal(noisePx)],
      outwardPx: [out[0] - px[0], out[1] - px[1]],
      alongPx: [along[0] - px[0], along[1] - px[1]],
      wallOutMm: 0,
      wallAlongMm: 0,
      wallFacing: 0,
    };
  });
}

const opposite = (circle: LeaningCircle): LeaningCircle => ({
  ...circle,
  lean: { ...circle.lean, turnRad: [-circle.lean.turnRad[0], -circle.lean.turnRad[1]] },
});

describe.each([
  { name: "towards the camera's foot point", turnRad: [0.02, 0.17] as const },
  { name: "away from it", turnRad: [-0.03, -0.3] as const },
  { name: "steeply, across", turnRad: [0.4, 0.1] as const },
])("a wheel that leans $name", ({ turnRad }) => {
  const lean = restingLean(turnRad, [30, -12], radiusMm, support);
  const teeth = seen(lean, 0.1, 0.3);

  test("its outline leaves more than one lean, of which one is right", () => {
    const leans = leansOfOutline(geometry, teeth.map(({ px }) => px), support, pxPerMm); // prettier-ignore
    expect(leans.length).toBeGreaterThanOrEqual(2);
    const misses = leans.map(({ lean: { turnRad: t } }) => Math.hypot(t[0] - turnRad[0], t[1] - turnRad[1]));
    expect(Math.min(...misses)).toBeLessThan(0.02);
    expect(Math.max(...misses)).toBeGreaterThan(0.1);
  });

  test("the spacing of its teeth says which, from either start", () => {
    const start = {
      lean: restingLean([0.8 * turnRad[0], turnRad[1]], [29, -12], 24.5, support),
      radiusMm: 24.5,
    };
    for (const first of [start, opposite(start)]) {
      const starts = [first, opposite(first)].map((circle) => ({ circle, phaseRad: 0.3 }));
      const fit = fitLeaningTeeth(geometry, teeth, pitchRad, support, pxPerMm, starts)!;
      expect(fit.best.lean.turnRad[0]).toBeCloseTo(turnRad[0], 2);
      expect(fit.best.lean.turnRad[1]).toBeCloseTo(turnRad[1], 2);
      expect(fit.best.radiusMm).toBeCloseTo(radiusMm, 1);
      expect(fit.worseBy.opposite).toBeGreaterThan(9);
      expect(Math.min(fit.worseBy.flatOut, fit.worseBy.flatAlong)).toBeGreaterThan(12);
    }
  });
});

test("a flat wheel has no lean by its outline", () => {
  const flat = restingLean([0, 0], [10, 5], radiusMm, support);
  const tips = seen(flat, 0.1, 0).map(({ px }) => px);
  expect(leansOfOutline(geometry, tips, support, pxPerMm)).toEqual([]);
});

test("the rim rests on the mat, or the middle is as high as was said", () => {
  expect(restingLean([0, 0.2], [0, 0], 20, support).raisedMm).toBeCloseTo(20 * Math.sin(0.2), 12);
  const given = restingLean([0, 0.2], [0, 0], 20, { outlineMm: 1.4, middleMm: 9 });
  expect(given.raisedMm + 1.4 * Math.cos(0.2)).toBeCloseTo(9, 12);
});
