import { expect, test } from "vitest";
import type { Photo } from "../../../src/photo/index.js";
import { matFromPixel, type ViewGeometry } from "../../../src/geometry/index.js";
import { learnContrast } from "../../../src/parts/contrast.js";
import { findNotches } from "../../../src/parts/count-wheel/find-notches.js";
import { readSequence } from "../../../src/parts/count-wheel/read-sequence.js";
import { findRim } from "../../../src/parts/wheel/find-rim.js";
import { inventedPhoto } from "../invented-photo.js";
import { faceAt } from "../straight-down.js";

/*
 * An invented disc with the twelve notches of 78 blows (Encyclopaedia Britannica, 11th ed., Clock), 1.4 mm thick, drawn
 * in closed form: a pixel shows metal where its ray meets the disc at any height. The camera stands 400 mm high and
 * 120 mm beside it: walls close up to 0.42 mm of each notch.
 */
const [radiusMm, thickMm, depthMm] = [16, 1.4, 3];
const hours = Array.from({ length: 12 }, (_, i) => i + 1);
const endsRad = hours.map((_, i) => (2 * Math.PI * ((i + 1) * (i + 2))) / 2 / 78 + 0.3);
const sizePx = 420;
const geometry: ViewGeometry = {
  // The middle of the disc lies 120 mm to the left of the foot point.
  camera: { fxPx: 4400, fyPx: 4400, cxPx: sizePx / 2 + 1320, cyPx: sizePx / 2, k1: 0, k2: 0 },
  cameraFromMat: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translationMm: [-120, 0, 400] },
};

const brass = [176, 132, 58] as const;
const paper = [236, 234, 229] as const;

function isMetal(x: number, y: number, notchMm: number): boolean {
  const r = Math.hypot(x, y);
  if (r > radiusMm) return false;
  if (r < radiusMm - depthMm) return true;
  return endsRad.every((t) => {
    const [along, across] = [x * Math.cos(t) + y * Math.sin(t), y * Math.cos(t) - x * Math.sin(t)];
    return along < 0 || Math.abs(across) > notchMm / 2;
  });
}

/** Whether the ray through a pixel meets the disc: it runs straight from its upper to its lower plane. */
function meetsMetal(u: number, v: number, notchMm: number): boolean {
  const [upper, lower] = [thickMm, 0].map((z) => matFromPixel(geometry, u, v, z));
  for (let share = 0; share <= 1; share += 0.2)
    if (
      isMetal(
        upper![0] + share * (lower![0] - upper![0]),
        upper![1] + share * (lower![1] - upper![1]),
        notchMm,
      )
    )
      return true;
  return false;
}

/** Four rays to a pixel. */
function drawn(notchMm: number): Photo {
  const rgb = new Uint8Array(3 * sizePx * sizePx);
  for (let v = 0; v < sizePx; v++)
    for (let u = 0; u < sizePx; u++) {
      let share = 0;
      for (const du of [-0.25, 0.25])
        for (const dv of [-0.25, 0.25]) if (meetsMetal(u + du, v + dv, notchMm)) share += 0.25;
      for (let c = 0; c < 3; c++)
        rgb[3 * (v * sizePx + u) + c] = share * brass[c]! + (1 - share) * paper[c]! + ((u + v + c) % 3) - 1;
    }
  return inventedPhoto(sizePx, sizePx, rgb);
}

function read(notchMm: number): ReturnType<typeof findNotches> {
  const photo = drawn(notchMm);
  const samples = (rgb: readonly number[]): number[] =>
    Array.from({ length: 100 }, (_, k) => rgb.map((v) => v + (k % 3) - 1)).flat();
  const contrast = learnContrast(samples(brass), samples(paper))!;
  const rim = findRim(photo, contrast, faceAt(geometry, 0, 0, thickMm), radiusMm)!;
  return findNotches(photo, contrast, rim, 1, thickMm);
}

test("notches seen from the side: where they are and how wide they are cut", () => {
  const { notches } = read(1.2);
  expect(notches).toHaveLength(12);
  const places = endsRad.map((t) => t % (2 * Math.PI)).sort((a, b) => a - b);
  notches.forEach(({ angleRad, widthMm, state }, i) => {
    // The wall is taken to pass for metal by 0.6 +- 0.25 (two of these); here it does so wholly.
    expect(Math.abs(angleRad - places[i]!) * radiusMm).toBeLessThan(0.5 * 0.5 * 0.42 + 0.05);
    expect(Math.abs(widthMm - 1.2)).toBeLessThan(0.5 * 0.42 + 0.1);
    expect(state).toBe("whole");
  });
});

test("notches of which the walls leave a hair's breadth are found, and say 78 blows", () => {
  const { notches, faintRad } = read(0.62);
  expect(notches.length + faintRad.length).toBe(12);
  const sequence = readSequence(
    notches.map(({ angleRad, widthMm }) => ({ angleRad, widthRad: widthMm / radiusMm })),
    { isHidden: () => true, faintRad },
  )!;
  expect(sequence.blowsPerTurn).toBe(78);
  expect(sequence.blows).toEqual(hours);
  expect(sequence.unseen.every((n) => n.isFaint)).toBe(true);
});
