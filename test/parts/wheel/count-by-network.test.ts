import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { loadToothReader, type ToothReader } from "../../../src/segment/index.js";
import type { Contrast } from "../../../src/parts/contrast.js";
import { countByNetwork } from "../../../src/parts/wheel/count-by-network.js";
import type { Rim } from "../../../src/parts/wheel/find-rim.js";
import { drawnFace, drawnPhoto, type DrawnLook, type DrawnWheel } from "./drawn-wheel.js";

/** No contrast is asked: the network reads the picture itself. */
const contrast = {} as Contrast;

let reader: ToothReader;
beforeAll(async () => {
  const loaded = await loadToothReader();
  if (!loaded.ok) throw new Error(loaded.problem.text);
  reader = loaded.value;
});
afterAll(() => reader.close());

const dull: DrawnLook = { pxPerMm: 6, metal: [148, 132, 106], paper: [196, 192, 186], blurPx: 2, noise: 3 };

async function counted(
  wheel: DrawnWheel,
  look: DrawnLook,
  { offMm = [0, 0] as readonly [number, number], tipMm = wheel.tipMm } = {},
) {
  const photo = drawnPhoto(wheel, look);
  const rim: Rim = {
    face: drawnFace(photo, look.pxPerMm, offMm),
    outlineMm: new Float64Array(),
    tipMm,
    rootMm: wheel.rootMm,
    seen: 1,
  };
  return countByNetwork(photo, { rim, contrast }, (planes, columns) => reader.read(planes, columns));
}

describe("drawn wheels, the network", () => {
  test.each([
    [31, 6.2],
    [60, 9.6],
    [96, 14],
  ])("counts %i fine dull teeth", async (toothCount, tipMm) => {
    // 7.5, 6 and 5.5 px from tooth to tooth.
    const wheel = { toothCount, tipMm, rootMm: tipMm - 0.7 * ((2 * Math.PI * tipMm) / toothCount) };
    const found = await counted(wheel, dull);
    expect(found!.count.count).toBe(toothCount);
    expect(found!.count.probability).toBeGreaterThan(0.95);
    expect(found!.byNetwork).toBe(true);
  });

  test("counts coarse teeth in wider steps", async () => {
    const found = await counted({ toothCount: 14, tipMm: 12, rootMm: 9 }, { ...dull, pxPerMm: 9 });
    expect(found!.count).toMatchObject({ count: 14 });
    expect(found!.count.probability).toBeGreaterThan(0.95);
  });

  test("counts the places of teeth that are gone", async () => {
    const wheel = { toothCount: 48, tipMm: 9.6, rootMm: 8.7, missing: [7, 8, 30] };
    const found = await counted(wheel, dull);
    expect(found!.count.count).toBe(48);
    expect(found!.count.marks.length).toBeLessThan(48);
  });

  test("finds its way from a centre that is off by half a tooth, and tells teeth as seen from there", async () => {
    const wheel = { toothCount: 60, tipMm: 9.6, rootMm: 8.9 };
    const offMm = [0.4, -0.3] as const;
    const found = await counted(wheel, dull, { offMm });
    expect(found!.count.count).toBe(60);
    expect(found!.count.probability).toBeGreaterThan(0.95);
    // Where a tooth of the drawn wheel is seen from the shifted centre.
    const middleMm = (wheel.tipMm + wheel.rootMm) / 2;
    let worst = 0;
    for (const { centreRad } of found!.count.marks) {
      const nearest = Array.from({ length: 60 }, (_, k) => (2 * Math.PI * k) / 60).map((a) => {
        const seen = Math.atan2(middleMm * Math.sin(a) - offMm[1], middleMm * Math.cos(a) - offMm[0]);
        const d = centreRad - seen;
        return Math.abs(d - 2 * Math.PI * Math.round(d / (2 * Math.PI)));
      });
      worst = Math.max(worst, Math.min(...nearest) / ((2 * Math.PI) / 60));
    }
    expect(worst).toBeLessThan(0.2);
  });

  test("sees no teeth on a disc without any", async () => {
    const found = await counted({ toothCount: 40, tipMm: 9, rootMm: 9 }, dull);
    expect(found === undefined || found.count.probability < 0.5).toBe(true);
  });

  test("is not sure of teeth of three pixels", async () => {
    const wheel = { toothCount: 100, tipMm: 8, rootMm: 7.6 };
    const found = await counted(wheel, { ...dull, blurPx: 3 });
    if (found?.count.count !== 100) expect(found?.count.probability ?? 0).toBeLessThan(0.95);
    else expect(found.count.probability).toBeLessThan(0.95);
  });
});

test("without an answer there is no count", async () => {
  const wheel = { toothCount: 30, tipMm: 8, rootMm: 7 };
  const photo = drawnPhoto(wheel, dull);
  const face = drawnFace(photo, dull.pxPerMm);
  const rim: Rim = { face, outlineMm: new Float64Array(), tipMm: 8, rootMm: 7, seen: 1 };
  expect(await countByNetwork(photo, { rim, contrast }, () => Promise.resolve(undefined))).toBeUndefined();
});
