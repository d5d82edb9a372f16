import { expect, test } from "vitest";
import { matFromPixel, type ViewGeometry } from "../../src/geometry/index.js";
import { findAndMeasureParts } from "../../src/parts/index.js";
import type { Photo } from "../../src/photo/index.js";
import { inventedPhoto } from "./invented-photo.js";
import { viewOf } from "./straight-down.js";

/*
 * Invented parts of brass, drawn in closed form on their face, 1.4 mm above white paper. Steps as large as theirs are no
 * teeth of a clock for the house (common practice, no source).
 */
const sizePx = 640;
const geometry: ViewGeometry = {
  camera: { fxPx: 4800, fyPx: 4800, cxPx: sizePx / 2, cyPx: sizePx / 2, k1: 0, k2: 0 },
  cameraFromMat: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translationMm: [0, 0, 400] },
};
const brass = [176, 132, 58] as const;
const paper = [236, 234, 229] as const;

/** @param edgeMm radius of the edge at an angle, rad. */
function drawn(edgeMm: (angleRad: number) => number): Photo {
  const rgb = new Uint8Array(3 * sizePx * sizePx);
  for (let v = 0; v < sizePx; v++)
    for (let u = 0; u < sizePx; u++) {
      let share = 0;
      for (const du of [-0.25, 0.25])
        for (const dv of [-0.25, 0.25]) {
          const [x, y] = matFromPixel(geometry, u + du, v + dv, 1.4);
          const r = Math.hypot(x, y);
          if (r > 1.2 && r < edgeMm(Math.atan2(y, x))) share += 0.25;
        }
      const noise = ((u * 7 + v * 13) % 5) - 2;
      for (let c = 0; c < 3; c++)
        rgb[3 * (v * sizePx + u) + c] = share * brass[c]! + (1 - share) * paper[c]! + noise;
    }
  return inventedPhoto(sizePx, sizePx, rgb);
}

const measured = async (photo: Photo): ReturnType<typeof findAndMeasureParts> =>
  findAndMeasureParts(photo, viewOf(geometry), {});

test("a snail of twelve steps is no pinion", async () => {
  const step = Math.PI / 6;
  const snail = drawn((t) => 17 * (1 - (0.6 * Math.floor(((t + 2 * Math.PI) % (2 * Math.PI)) / step)) / 11));
  const { parts, problems } = await measured(snail);
  expect(parts).toEqual([]);
  expect(problems.map((p) => p.code)).toContain("teeth-unclear");
});

test("a cam with two broad slots is a cam", async () => {
  const { parts } = await measured(
    drawn((t) => (Math.abs(Math.sin(t)) < 0.17 && Math.abs(Math.cos(t)) > 0.9 ? 10 : 13.5)),
  );
  expect(parts.map((p) => [p.kind, p.teeth?.count])).toEqual([["locking-cam", 2]]);
});
