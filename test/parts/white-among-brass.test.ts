import { expect, test, vi } from "vitest";
import { findAndMeasureParts } from "../../src/parts/index.js";
import { networksForPhoto } from "../../src/pipeline/index.js";
import { photographed } from "./photographed.js";

// Rendering takes a while on a busy machine.
vi.setConfig({ testTimeout: 300_000 });

const seed = 3;

/** A face that mirrors a lamp: what has the colour of brass becomes as white as the picture can be. */
function whiten(rgb: Uint8Array, widthPx: number, [u, v]: readonly [number, number], reachPx: number): void {
  for (let y = Math.floor(v - reachPx); y <= v + reachPx; y++)
    for (let x = Math.floor(u - reachPx); x <= u + reachPx; x++) {
      if (Math.hypot(x - u, y - v) > reachPx) continue;
      const p = 3 * (y * widthPx + x);
      const metal = Math.min(1, Math.max(0, (rgb[p]! - rgb[p + 2]! - 12) / 50));
      for (let c = 0; c < 3; c++) rgb[p + c]! += metal * ([255, 255, 246][c]! - rgb[p + c]!);
    }
}

test("a wheel that mirrors a lamp is found among others of plain brass", async () => {
  const known = await photographed("tagged", seed);
  const lost = known.truth.wheels[0]!;
  const rgb = known.photo.rgb.slice();
  whiten(rgb, known.photo.widthPx, lost.centrePx, (lost.tipDiameterMm / 2 + 0.5) * lost.pxPerMm);
  const { parts } = await findAndMeasureParts({ ...known.photo, rgb }, known.view, {
    ...networksForPhoto().ask,
  });
  const found = parts.find(
    ({ centrePx: [u, v] }) => Math.hypot(u - lost.centrePx[0], v - lost.centrePx[1]) < 10,
  );
  expect(found?.teeth?.count).toBe(lost.toothCount);
});
