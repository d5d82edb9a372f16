import { expect, test, vi } from "vitest";
import { findAndMeasureParts } from "../../src/parts/index.js";
import { networksForPhoto } from "../../src/pipeline/index.js";
import { photographed, type Photographed } from "./photographed.js";

// Rendering takes a while on a busy machine.
vi.setConfig({ testTimeout: 300_000 });

const seed = 3;

const lampWhite = [255, 255, 246] as const;
const lightGrey = [170, 170, 168] as const;
const darkBrown = [70, 58, 44] as const;

/** What has the colour of brass takes another one. */
function repaint(
  rgb: Uint8Array,
  widthPx: number,
  { centrePx: [u, v], tipDiameterMm, pxPerMm }: Photographed["truth"]["wheels"][number],
  colour: readonly [number, number, number],
): void {
  const reachPx = (tipDiameterMm / 2 + 0.5) * pxPerMm;
  for (let y = Math.floor(v - reachPx); y <= v + reachPx; y++)
    for (let x = Math.floor(u - reachPx); x <= u + reachPx; x++) {
      if (Math.hypot(x - u, y - v) > reachPx) continue;
      const p = 3 * (y * widthPx + x);
      const metal = Math.min(1, Math.max(0, (rgb[p]! - rgb[p + 2]! - 12) / 50));
      for (let c = 0; c < 3; c++) rgb[p + c]! += metal * (colour[c]! - rgb[p + c]!);
    }
}

test.each([
  ["that mirrors a lamp, among others of plain brass", lampWhite, undefined],
  ["of light grey metal, among others as dark as old brass gets", lightGrey, darkBrown],
] as const)("finds a wheel %s", async (_, colour, ofOthers) => {
  const known = await photographed("tagged", seed);
  const [lost, ...others] = known.truth.wheels;
  const rgb = known.photo.rgb.slice();
  const { widthPx } = known.photo;
  repaint(rgb, widthPx, lost!, colour);
  if (ofOthers !== undefined) for (const other of others) repaint(rgb, widthPx, other, ofOthers);
  const { parts } = await findAndMeasureParts({ ...known.photo, rgb }, known.view, {
    ...networksForPhoto().ask,
  });
  const found = parts.find(
    ({ centrePx: [u, v] }) => Math.hypot(u - lost!.centrePx[0], v - lost!.centrePx[1]) < 10,
  );
  expect(found?.teeth?.count).toBe(lost!.toothCount);
});
