import { expect, test, vi } from "vitest";
import { findAndMeasureParts } from "../../../src/parts/index.js";
import type { Photo } from "../../../src/photo/index.js";
import { standardUncertainty } from "../../../src/quantity/index.js";
import { photographed } from "../photographed.js";

// Rendering takes a while on a busy machine.
vi.setConfig({ testTimeout: 300_000 });

/** The left part of a photograph. */
function cutAt(photo: Photo, widthPx: number): Photo {
  const rgb = new Uint8Array(3 * widthPx * photo.heightPx);
  for (let v = 0; v < photo.heightPx; v++)
    rgb.set(photo.rgb.subarray(3 * v * photo.widthPx, 3 * (v * photo.widthPx + widthPx)), 3 * v * widthPx);
  return { ...photo, rgb, widthPx };
}

test("a wheel that the frame cuts through some teeth is measured by those that are whole", async () => {
  const { photo, view, truth } = await photographed("close", 3);
  const wheel = truth.wheels[0]!;
  const tipPx = 0.5 * wheel.tipDiameterMm * wheel.pxPerMm;
  const bare = { ...view, source: "given" as const, tags: [] };
  let told = 0;
  // Where the border crosses the rim aslant, it cuts through the middle of what belongs to a tooth.
  for (const share of [0.75, 0.8, 0.85, 0.9, 0.95]) {
    const cut = cutAt(photo, Math.round(wheel.centrePx[0] + share * tipPx));
    const { parts } = await findAndMeasureParts(cut, bare, { heights: {} });
    for (const { teeth, tipDiameterMm } of parts) {
      if (teeth !== undefined && teeth.probability >= 0.95) expect(teeth.count).toBe(wheel.toothCount);
      if (tipDiameterMm === undefined) continue;
      told++;
      expect(Math.abs(tipDiameterMm.value / wheel.tipDiameterMm - 1)).toBeLessThan(0.05);
      expect(standardUncertainty(tipDiameterMm)).toBeGreaterThan(0);
    }
  }
  expect(told).toBeGreaterThan(0);
});
