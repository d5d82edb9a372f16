import { expect, test } from "vitest";
import { FaceSampler } from "../../../src/parts/face-sampler.js";
import { heightOfFace } from "../../../src/parts/face-height.js";
import { linearFromSrgb } from "../../../src/parts/linear-light.js";
import { centreHole, type CentredHole } from "../../../src/parts/plate/centre-hole.js";
import { EdgeSampler } from "../../../src/parts/plate/edge-sampler.js";
import { learnPlateSignal } from "../../../src/parts/plate/plate-signal.js";
import type { View } from "../../../src/view/index.js";
import { inventedPhoto } from "../invented-photo.js";
import { faceAt, straightDown } from "../straight-down.js";

const pxPerMm = 10;
const size = 200;

/** Brass seen from straight above at 10 px/mm, dark where it is cut away; what is found at its middle. */
function holeIn(isCut: (xMm: number, yMm: number) => boolean, reachMm: number): CentredHole | undefined {
  const rgb = new Uint8Array(3 * size * size);
  for (let j = 0, p = 0; j < size; j++)
    for (let i = 0; i < size; i++, p += 3)
      rgb.set(isCut((i - size / 2) / pxPerMm, (size / 2 - j) / pxPerMm) ? [30, 30, 30] : [200, 172, 100], p);
  const photo = inventedPhoto(size, size, rgb);
  const above = straightDown(300);
  const geometry = { ...above, camera: { ...above.camera, cxPx: size / 2, cyPx: size / 2 } };
  const face = faceAt(geometry, 0, 0, 0);
  const metal = [200, 172, 100].map((code) => linearFromSrgb[code]!);
  const signal = learnPlateSignal(
    Array.from({ length: 60 }, (_, i) => metal[i % 3]!),
    [0.8, 0.8, 0.8],
  )!;
  const plate = {
    view: { geometry } as unknown as View,
    face,
    sampler: new FaceSampler(photo, face, linearFromSrgb),
    edges: new EdgeSampler(photo, face, signal),
    sharpness: { blurPx: 0.5, amount: 0, neighbourhoodPx: 1 },
    colourBlurPx: 0,
    signal,
    pxMm: 1 / pxPerMm,
  };
  const guess = { xMm: 0, yMm: 0, areaMm2: reachMm ** 2, reachMm };
  return centreHole(guess, plate, heightOfFace({ everyPartMm: 1 }, undefined));
}

test("a round hole is centred, from a guess beside its middle", () => {
  const hole = holeIn((x, y) => Math.hypot(x - 0.3, y + 0.2) < 1.5, 1.5)!;
  const [x, y, radius] = hole.shape;
  expect(hole.xMm + x).toBeCloseTo(0.3, 1);
  expect(hole.yMm + y).toBeCloseTo(-0.2, 1);
  expect(radius).toBeCloseTo(1.5, 1);
});
