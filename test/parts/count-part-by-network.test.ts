import { afterAll, beforeAll, expect, test } from "vitest";
import { isDoubtedWrongly } from "../../src/parts/count-part-by-network.js";
import type { Contrast } from "../../src/parts/contrast.js";
import type { RoundPart } from "../../src/parts/find/find-round-parts.js";
import type { Part } from "../../src/parts/part.js";
import { countByNetwork } from "../../src/parts/wheel/count-by-network.js";
import type { Rim } from "../../src/parts/wheel/find-rim.js";
import { loadToothReader, type ToothReader } from "../../src/segment/index.js";
import { drawnFace, drawnPhoto } from "./wheel/drawn-wheel.js";

let reader: ToothReader;
beforeAll(async () => {
  const loaded = await loadToothReader();
  if (!loaded.ok) throw new Error(loaded.problem.text);
  reader = loaded.value;
});
afterAll(() => reader.close());

test.each([
  // A drawn tray in low sun: wheel and shadow, both grey, had 99 teeth together, and the network read all of them.
  ["by lightness, a shadow may be read along with the wheel: the doubt stays", 0, false],
  ["by colour, the network takes the doubt away", -0.4, true],
] as const)("an unround outline that was told %s", async (_, growth, taken) => {
  const wheel = { toothCount: 60, tipMm: 9.6, rootMm: 8.8 };
  const photo = drawnPhoto(wheel, {
    pxPerMm: 8,
    metal: [120, 118, 112],
    paper: [200, 200, 196],
    blurPx: 1,
    noise: 2,
  });
  const rim: Rim = {
    face: drawnFace(photo, 8, [0, 0]),
    outlineMm: new Float64Array(),
    tipMm: wheel.tipMm,
    rootMm: wheel.rootMm,
    seen: 1,
  };
  const contrast = { growth, noShadow: true } as Contrast;
  const readTeeth = (planes: Float32Array, columns: number) => reader.read(planes, columns);
  const counted = (await countByNetwork(photo, { rim, contrast }, readTeeth))!;
  expect(counted.count.count).toBe(60);
  const part = {
    contrast,
    face: rim.face,
    radiusMm: rim.tipMm,
    reason: "network",
    shadowy: false,
  } as RoundPart;
  const measured = { teeth: { ...counted.count, probability: 0.6 } } as unknown as Part;
  const sure = { ...counted, count: { ...counted.count, probability: 0.999 } };
  expect(await isDoubtedWrongly(photo, part, sure, measured, readTeeth)).toBe(taken);
});
