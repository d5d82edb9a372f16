import { expect, test } from "vitest";
import { crispShare } from "../../../src/parts/plate/crisp-outline.js";
import type { View } from "../../../src/view/index.js";
import { inventedPhoto } from "../invented-photo.js";
import { straightDown } from "../straight-down.js";

const sizePx = 400;
const pxPerMm = 10;
const view = {
  geometry: {
    ...straightDown(300),
    camera: { ...straightDown(300).camera, cxPx: sizePx / 2, cyPx: sizePx / 2 },
  },
  edge: { blurSigmaPx: 0.7 },
} as unknown as View;
const square = [
  [-10, -10],
  [10, -10],
  [10, 10],
  [-10, 10],
] as const;

/** A grey square of 20 mm on paper; its edge goes from one to the other over `softMm`. */
function crispOf(softMm: number): number {
  const rgb = new Uint8Array(3 * sizePx * sizePx);
  for (let j = 0, p = 0; j < sizePx; j++)
    for (let i = 0; i < sizePx; i++, p += 3) {
      const [x, y] = [(i - sizePx / 2) / pxPerMm, (sizePx / 2 - j) / pxPerMm];
      const inside = (10 - Math.max(Math.abs(x), Math.abs(y))) / softMm + 0.5;
      rgb.fill(220 - 100 * Math.max(0, Math.min(1, inside)), p, p + 3);
    }
  return crispShare(inventedPhoto(sizePx, sizePx, rgb), view, square, 0);
}

test("the outline of a thing is sharp all round, that of a soft shadow nowhere", () => {
  expect(crispOf(0.1)).toBeGreaterThan(0.95);
  expect(crispOf(2)).toBeLessThan(0.1);
});
