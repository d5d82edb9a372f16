import { expect, test } from "vitest";
import { ThickOutline } from "../../../src/parts/thick-outline.js";
import { fitToothCircle } from "../../../src/parts/wheel/fit-tooth-circle.js";
import type { ToothPlaces } from "../../../src/parts/wheel/tooth-places.js";
import { usualWall } from "../../../src/parts/wheel/weigh-centres.js";
import { faceAt, straightDown } from "../straight-down.js";

const count = 60;
const tipMm = 20;
const rootMm = 18;
const pxMm = 0.1;

/**
 * Places of a perfect wheel, off the face's centre by `centreMm`; the teeth named in `stumps` broken off half way up,
 * the tips of those in `chipped` gone.
 */
function places(
  centreMm: readonly [number, number],
  stumps: readonly number[],
  chipped: readonly number[],
): ToothPlaces {
  const pitchRad = (2 * Math.PI) / count;
  const angleRad = Float64Array.from({ length: count }, (_, k) => k * pitchRad);
  const nothing = new Float64Array(count);
  const pitchRadius = rootMm + 0.5 * (tipMm - rootMm);
  return {
    face: faceAt(straightDown(400), 0, 0, 0),
    count,
    pitchRad,
    angleRad,
    offset: angleRad.map(
      (t) => (centreMm[1] * Math.cos(t) - centreMm[0] * Math.sin(t)) / (pitchRad * pitchRadius),
    ),
    offsetOuter: nothing,
    offsetInner: nothing,
    tipMarkMm: angleRad.map(
      (t, k) =>
        tipMm +
        centreMm[0] * Math.cos(t) +
        centreMm[1] * Math.sin(t) -
        (stumps.includes(k) ? 1 : chipped.includes(k) ? 0.5 : 0),
    ),
    body: Float64Array.from({ length: count }, (_, k) =>
      stumps.includes(k) ? 0.2 : chipped.includes(k) ? 0.4 : 0.45,
    ),
    seen: new Uint8Array(count).fill(1),
    coverage: new Float32Array(count),
    radii: 1,
    fromRadiusMm: rootMm,
    stepMm: 0.05,
    rays: new Float32Array(count),
    perPlace: 1,
    metal: nothing,
    around: nothing,
    metalTo: 1,
    section: nothing,
    sectionStepMm: 0.1,
    typicalBody: 0.45,
    tipMm,
    rootMm,
  };
}

test("trap 9: seven teeth broken off side by side and three chipped tips pull the tooth circle nowhere", () => {
  const stumps = [5, 6, 7, 8, 9, 10, 11];
  const chipped = [22, 40, 55];
  const centre = [0.12, -0.05] as const;
  const thick = new ThickOutline(faceAt(straightDown(400), 0, 0, 0), 0);
  const circle = fitToothCircle(places(centre, stumps, chipped), thick, pxMm)!;
  expect([...circle.states.keys()].filter((k) => circle.states[k] === "short")).toEqual([
    ...stumps,
    ...chipped,
  ]);
  // Exact but for rounding: a mean over all 60 tips would be 2/60 sum(cos) = 0.2 mm off.
  expect(Math.abs(circle.centreMm[0] - centre[0])).toBeLessThan(1e-6);
  expect(Math.abs(circle.centreMm[1] - centre[1])).toBeLessThan(1e-6);
  expect(Math.hypot(...circle.ovalMm)).toBeLessThan(1e-6);
});

test("a wheel beside the camera's foot point is not called eccentric for the walls that are seen of it", () => {
  // 18 mm from the foot point and 40 mm across: no wall is seen at the tips, but between the teeth.
  const face = faceAt(straightDown(400), 18, 0, 0);
  const thick = new ThickOutline(face, 1.8);
  const seen = places([0, 0], [], []);
  const passing = 0.3;
  const arcMm = seen.pitchRad * (rootMm + 0.5 * (tipMm - rootMm));
  const offset = seen.angleRad.map((t) => (passing * thick.middleShiftMm(t)) / arcMm);
  const circle = fitToothCircle({ ...seen, offset }, thick, pxMm)!;
  // All of the wall would draw the spacing by 0.04 mm; left out, 0.3 of it put the centre 0.008 mm off.
  expect(Math.hypot(...circle.centreMm)).toBeLessThan(0.002);
});

test("a wheel cut off by the frame is less well known, light on its tips included, than the number of its teeth says", () => {
  const thick = new ThickOutline(faceAt(straightDown(400), 0, 0, 0), 0);
  const noise = (k: number): number => 0.002 * Math.sin(12.9898 * k * k);
  const whole = places([0, 0], [], []);
  const rough = {
    ...whole,
    offset: whole.offset.map((v, k) => v + noise(k)),
    tipMarkMm: whole.tipMarkMm.map((v, k) => v + noise(k)),
  };
  const seenTo = (n: number) =>
    fitToothCircle(
      { ...rough, seen: Uint8Array.from({ length: count }, (_, k) => (k < n ? 1 : 0)) },
      thick,
      pxMm,
    )!;
  // Of 36 of 60 teeth side by side, a component of the first order is known 3.42 times worse than of 36 all round (normal
  // equations of mean and two orders, by numpy 1.24).
  const [all, part] = [seenTo(60), seenTo(36)];
  expect(part.uTangentialMm / all.uTangentialMm).toBeGreaterThan(3);
  // 0.12 px of light on the tips alone, as much larger.
  expect(part.uRadialMm).toBeGreaterThan(3.4 * 0.12 * pxMm);
});

test("an oval that a bright wall may have made is known no better than the wall, along the line to the foot point", () => {
  // Rectified, a cosine of amplitude a has a second harmonic of 2 a / (3 pi): closed form.
  const [thicknessMm, besideMm, cameraMm] = [1.5, 120, 300];
  const thick = new ThickOutline(faceAt(straightDown(cameraMm), besideMm, 0, thicknessMm), thicknessMm);
  const amplitudeMm = (thicknessMm * besideMm) / cameraMm;
  const circle = fitToothCircle(places([0, 0], [], []), thick, pxMm)!;
  const [cosine, sine] = circle.ovalByWallMm;
  const whole = usualWall.u * amplitudeMm * (2 / (3 * Math.PI));
  // Tips without noise would tell the share by the corners of the rectified cosine alone: that is not believed.
  expect(Math.abs(cosine) / whole).toBeGreaterThan(0.8);
  expect(Math.abs(cosine) / whole).toBeLessThan(1.25);
  expect(Math.abs(sine)).toBeLessThan(0.05 * Math.abs(cosine));
  // Beside the foot point no wall is seen.
  const near = new ThickOutline(faceAt(straightDown(cameraMm), 0, 0, thicknessMm), thicknessMm);
  expect(Math.hypot(...fitToothCircle(places([0, 0], [], []), near, pxMm)!.ovalByWallMm)).toBe(0);
});
