import { FaceSampler } from "../../../src/parts/face-sampler.js";
import { linearFromSrgb } from "../../../src/parts/linear-light.js";
import { EdgeSampler } from "../../../src/parts/plate/edge-sampler.js";
import type { PlateFace } from "../../../src/parts/plate/plate-face.js";
import { learnPlateSignal } from "../../../src/parts/plate/plate-signal.js";
import type { View } from "../../../src/view/index.js";
import { inventedPhoto } from "../invented-photo.js";
import { faceAt, straightDown } from "../straight-down.js";

const pxPerMm = 10;
const brass = [200, 172, 100] as const;

/**
 * Brass seen from straight above at 10 px/mm; `codeAt` says what is seen elsewhere, from the middle in mm.
 *
 * @param paper linear light of the bare paper.
 */
export function inventedPlate(
  sizePx: number,
  codeAt: (xMm: number, yMm: number) => readonly [number, number, number] | undefined,
  paper = 0.8,
): PlateFace {
  const rgb = new Uint8Array(3 * sizePx * sizePx);
  for (let j = 0, p = 0; j < sizePx; j++)
    for (let i = 0; i < sizePx; i++, p += 3)
      rgb.set(codeAt((i - sizePx / 2) / pxPerMm, (sizePx / 2 - j) / pxPerMm) ?? brass, p);
  const photo = inventedPhoto(sizePx, sizePx, rgb);
  const above = straightDown(300);
  const geometry = { ...above, camera: { ...above.camera, cxPx: sizePx / 2, cyPx: sizePx / 2 } };
  const face = faceAt(geometry, 0, 0, 0);
  const metal = brass.map((code) => linearFromSrgb[code]!);
  const signal = learnPlateSignal(
    Array.from({ length: 60 }, (_, i) => metal[i % 3]!),
    [paper, paper, paper],
  )!;
  return {
    view: { geometry } as unknown as View,
    face,
    sampler: new FaceSampler(photo, face, linearFromSrgb),
    edges: new EdgeSampler(photo, face, signal),
    sharpness: { blurPx: 0.5, amount: 0, neighbourhoodPx: 1 },
    colourBlurPx: 0,
    signal,
    pxMm: 1 / pxPerMm,
  };
}
