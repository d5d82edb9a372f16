import { expect, test } from "vitest";
import { FaceSampler } from "../../../src/parts/face-sampler.js";
import { linearFromSrgb } from "../../../src/parts/linear-light.js";
import { findBush } from "../../../src/parts/plate/find-bush.js";
import { learnPlateSignal } from "../../../src/parts/plate/plate-signal.js";
import type { Photo } from "../../../src/photo/index.js";
import { random } from "../../scenes/index.js";
import { faceAt, straightDown } from "../straight-down.js";

/** What is drawn on brushed brass round a hole of 1.6 mm: light (1: that of the face) and change of red and blue. */
type Drawing = (xMm: number, yMm: number) => { readonly light: number; readonly warmer?: number };

const pxPerMm = 10;
const size = 160;
const holeMm = 0.8;

/** A photograph of 16 x 16 mm from straight above, 300 mm up, at 10 px/mm; brass streaked along x, a little noise. */
function brass(drawn: Drawing, seed = 1): Photo {
  const rng = random(seed, "bush");
  const streaks = Array.from({ length: size }, () => rng.normal(0.06));
  const rgb = new Uint8Array(3 * size * size);
  for (let j = 0, p = 0; j < size; j++)
    for (let i = 0; i < size; i++, p += 3) {
      const [x, y] = [(i - size / 2) / pxPerMm, (size / 2 - j) / pxPerMm];
      const { light, warmer = 0 } = drawn(x, y);
      const isHole = Math.hypot(x, y) < holeMm;
      const l = isHole ? 0.2 : light * (1 + streaks[j]!) * (1 + rng.normal(0.03));
      const [r, g, b] = isHole ? [1, 1, 1] : [1 + warmer, 0.86, 0.5 - warmer];
      [r, g, b].forEach((c, k) => {
        rgb[p + k] = Math.max(0, Math.min(255, Math.round(200 * c * l)));
      });
    }
  const base = { file: "brass.png", byteCount: 0, sha256: "0".repeat(64), format: "png" as const };
  return { ...base, widthPx: size, heightPx: size, rgb, colourHalved: false, cameraData: {} };
}

function bushIn(drawn: Drawing, seed?: number): number | undefined {
  const photo = brass(drawn, seed);
  const geometry = straightDown(300);
  const { camera } = geometry;
  const here = { ...geometry, camera: { ...camera, cxPx: size / 2, cyPx: size / 2 } };
  const sampler = new FaceSampler(photo, faceAt(here, 0, 0, 0), linearFromSrgb);
  const face: number[] = [];
  for (let k = 0; k < 200; k++)
    if (sampler.at(-7 + (k % 20) * 0.7, 5.5 + Math.floor(k / 20) * 0.1))
      face.push(sampler.red, sampler.green, sampler.blue);
  const signal = learnPlateSignal(face, [0.8, 0.8, 0.8])!;
  return findBush(sampler, signal, 0, 0, holeMm, 1 / pxPerMm)?.radiusMm;
}

const plain: Drawing = () => ({ light: 1 });
const radius = Math.hypot;

test("the seam round a bush is found, and how wide it is", () => {
  const seam: Drawing = (x, y) => ({ light: Math.abs(radius(x, y) - 2.2) < 0.1 ? 0.6 : 1 });
  expect(Math.abs(bushIn(seam)! - 2.2)).toBeLessThan(0.1);
});

test("a bush of redder brass without a seam is found by its colour", () => {
  const redder: Drawing = (x, y) => ({ light: 1, warmer: radius(x, y) < 2 ? 0.08 : 0 });
  expect(Math.abs(bushIn(redder)! - 2)).toBeLessThan(0.15);
});

test.each([1, 2, 3, 4, 5])("a plain hole in brushed brass has no bush (%i)", (seed) => {
  expect(bushIn(plain, seed)).toBeUndefined();
});

test("an oil sink is no bush: lit on one side, in shade on the other", () => {
  const sink: Drawing = (x, y) => ({ light: radius(x, y) < 2 ? 1 + 0.35 * (x / 2) : 1 });
  expect(bushIn(sink)).toBeUndefined();
});

test("punch marks round a hole are no bush", () => {
  const punched: Drawing = (x, y) => {
    const turn = Math.atan2(y, x) / (2 * Math.PI);
    const isMark = Math.abs(turn * 6 - Math.round(turn * 6)) < 0.12 && Math.abs(radius(x, y) - 1.8) < 0.15;
    return { light: isMark ? 0.4 : 1 };
  };
  expect(bushIn(punched)).toBeUndefined();
});

test("half of a circle, as the edge of a neighbouring part draws it, is no bush", () => {
  const half: Drawing = (x, y) => ({ light: x > -0.4 && Math.abs(radius(x, y) - 2) < 0.1 ? 0.5 : 1 });
  expect(bushIn(half)).toBeUndefined();
});
