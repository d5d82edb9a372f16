import { expect, test } from "vitest";
import type { Photo } from "../../../src/photo/index.js";
import { luminanceWeights, type Contrast } from "../../../src/parts/contrast.js";
import { countTeeth } from "../../../src/parts/wheel/count-teeth.js";
import { readFaceLikeness } from "../../../src/parts/wheel/face-likeness.js";
import type { FacePlane } from "../../../src/parts/face-plane.js";
import { countByFace, countWheel } from "../../../src/parts/wheel/counted-wheel.js";
import { findRim, type Rim } from "../../../src/parts/wheel/find-rim.js";
import { readRimSignal } from "../../../src/parts/wheel/rim-signal.js";
import { faceAt, straightDown } from "../straight-down.js";
import { inventedPhoto } from "../invented-photo.js";

/** A wheel of rectangular teeth, invented: metal to `rootMm`, half of the pitch up to `tipMm`; 7 px from tooth to tooth. */
const toothCount = 56;
const rootMm = 9.4;
const tipMm = 10.4;
const pxPerMm = 6;
/** Linear reflectances (invented): brass, paper, and paper in the shadow of the wheel. */
const levels = { metal: 0.3, paper: 0.8, shade: 0.12 };

/** IEC 61966-2-1, encoding. */
const codeOf = (v: number): number => 255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055);

const isMetal = (x: number, y: number): boolean => {
  const r = Math.hypot(x, y);
  const pitch = (2 * Math.PI) / toothCount;
  const a = Math.atan2(y, x);
  return r < rootMm || (r < tipMm && Math.abs(a - pitch * Math.round(a / pitch)) < pitch / 4);
};

/** From straight above, the shadow shifted along x; pixels average over a square of 1.5 px, which is all the blur. */
function wheelAndShadow(shiftMm: number): Photo {
  const size = 2 * Math.ceil(1.5 * tipMm * pxPerMm) + 1;
  const middle = (size - 1) / 2;
  const rgb = new Uint8Array(3 * size * size);
  const fine = 6;
  for (let y = 0; y < size; y++)
    for (let x = 0; x < size; x++) {
      let light = 0;
      for (let i = 0; i < fine * fine; i++) {
        const dx = (x - middle + 1.5 * (((i % fine) + 0.5) / fine - 0.5)) / pxPerMm;
        const dy = (y - middle + 1.5 * ((Math.floor(i / fine) + 0.5) / fine - 0.5)) / pxPerMm;
        const isShaded = isMetal(dx - shiftMm, dy);
        light += isMetal(dx, dy) ? levels.metal : isShaded ? levels.shade : levels.paper;
      }
      rgb.fill(Math.round(codeOf(light / fine ** 2)), 3 * (y * size + x), 3 * (y * size + x) + 3);
    }
  return inventedPhoto(size, size, rgb);
}

/** 1 on the metal, 0 on the paper. */
const byLightness = (): Contrast => {
  const table = (weights: Float32Array): Float32Array =>
    weights.map((v) => (v - levels.paper / 3) / (levels.metal - levels.paper));
  return {
    red: table(luminanceWeights.red),
    green: table(luminanceWeights.green),
    blue: table(luminanceWeights.blue),
  } as unknown as Contrast;
};

const faceOf = (photo: Photo): FacePlane => {
  const geometry = straightDown(400, [0, 0], 400 * pxPerMm);
  const middle = (photo.widthPx - 1) / 2;
  return faceAt({ ...geometry, camera: { ...geometry.camera, cxPx: middle, cyPx: middle } }, 0, 0, 0);
};

test("trap 8: 56 fine teeth beside a hard shadow are counted by likeness to the face, where lightness is led astray", () => {
  let led = 0;
  let sound = 0;
  for (const shiftMm of [0.55, 0.8, 1.1]) {
    const photo = wheelAndShadow(shiftMm);
    const face = faceOf(photo);
    // What colour would tell: the rim of the wheel itself, clear all round.
    const rim: Rim = { face, outlineMm: new Float64Array(1440).fill(tipMm), tipMm, rootMm, seen: 1 };
    const own = readRimSignal(photo, byLightness(), rim);
    const seen = new Uint8Array(own.value.length).fill(1);
    const count = countTeeth(readFaceLikeness(photo, rim, { ...own, seen }))!;
    // Where shade ends in the middle of every space, twice as many are as likely, and neither is sound.
    if (count.count !== toothCount) expect(count.probability, `${shiftMm} mm`).toBeLessThan(0.5);
    else if (count.probability > 0.9) sound++;
    const outline = findRim(photo, byLightness(), face, tipMm)!;
    if (countTeeth(readRimSignal(photo, byLightness(), outline))?.count !== toothCount) led++;
  }
  expect(sound).toBeGreaterThan(1);
  expect(led).toBeGreaterThan(0);
});

test("where paper and shade meet in the middle of every space, something as light as the face lies there too: not sure", () => {
  const photo = wheelAndShadow(0.3);
  const byColour = countWheel(photo, byLightness(), faceOf(photo), tipMm)!;
  expect(countByFace(photo, byColour)!.count.probability).toBeLessThan(0.95);
});
