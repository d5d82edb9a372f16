import { expect, test } from "vitest";
import { matFromPixel, type ViewGeometry } from "../../src/geometry/index.js";
import { isOfBrass } from "../../src/parts/brass-rod.js";
import type { Photo } from "../../src/photo/index.js";
import type { View } from "../../src/view/index.js";
import { inventedPhoto } from "./invented-photo.js";

const size = 400;
/** Straight down from 300 mm, 10 px/mm. */
const geometry: ViewGeometry = {
  camera: { fxPx: 3000, fyPx: 3000, cxPx: size / 2, cyPx: size / 2, k1: 0, k2: 0 },
  cameraFromMat: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translationMm: [0, 0, 300] },
};
const view = { geometry } as View;
const rod = { centreMm: [3, -2], angleRad: 0.6, lengthMm: 24, widthMm: 3 } as const;

/** A rod on paper under a warm lamp, its shadow on one side. */
function lying(colourAt: (alongMm: number) => readonly number[]): Photo {
  const rgb = new Uint8Array(3 * size * size);
  for (let v = 0; v < size; v++)
    for (let u = 0; u < size; u++) {
      const [x, y] = matFromPixel(geometry, u, v, 0);
      const [dx, dy] = [x - rod.centreMm[0], y - rod.centreMm[1]];
      const along = dx * Math.cos(rod.angleRad) + dy * Math.sin(rod.angleRad);
      const aside = -dx * Math.sin(rod.angleRad) + dy * Math.cos(rod.angleRad);
      const shade = aside > 0 && aside < 4 ? 0.5 : 1;
      const onRod = Math.abs(along) < rod.lengthMm / 2 && Math.abs(aside) < rod.widthMm / 2;
      const colour = onRod ? colourAt(along) : [232 * shade, 222 * shade, 204 * shade];
      rgb.set(
        colour.map((c) => Math.round(c)),
        3 * (v * size + u),
      );
    }
  return inventedPhoto(size, size, rgb);
}

const brass = [190, 150, 84];
const steel = [132, 126, 116];

test("a pillar is of brass, whatever the light: it was called a pinion on its side", () => {
  expect(
    isOfBrass(
      lying(() => brass),
      view,
      0,
      rod,
    ),
  ).toBe(true);
  expect(
    isOfBrass(
      lying((s) => (s > 0 ? brass : brass.map((c) => 0.4 * c))),
      view,
      0,
      rod,
    ),
  ).toBe(true);
});

test("an arbor of steel is not, nor with the brass caps of a lantern pinion on it", () => {
  expect(
    isOfBrass(
      lying(() => steel),
      view,
      0,
      rod,
    ),
  ).toBe(false);
  expect(
    isOfBrass(
      lying((s) => (Math.abs(Math.abs(s) - 3) < 1 ? brass : steel)),
      view,
      0,
      rod,
    ),
  ).toBe(false);
});

test("a rod beside the picture has no colour", () => {
  expect(
    isOfBrass(
      lying(() => brass),
      view,
      0,
      { ...rod, centreMm: [900, 0] },
    ),
  ).toBe(false);
});
