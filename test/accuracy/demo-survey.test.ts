import { fileURLToPath } from "node:url";
import { expect, test, vi } from "vitest";
import { findAndMeasureParts, type Part } from "../../src/parts/index.js";
import { readPhoto } from "../../src/photo/index.js";
import { standardUncertainty } from "../../src/quantity/index.js";
import { solveView } from "../../src/view/index.js";
import { heightsGiven } from "./measure-known-photo.js";
import { inUncertainties } from "../parts/photographed.js";
import type { KnownWheel } from "./known-photo.js";
import { photosWithTruthIn } from "./sample-photos.js";

/** Samples of another renderer than that of test/scenes: light that glints on bevels, hard sun, a camera that sharpens. */
vi.setConfig({ testTimeout: 300_000 });

const folder = fileURLToPath(new URL("../../samples/demo-survey/truth", import.meta.url));

async function wheelsOf(name: string): Promise<{ part: Part; wheel: KnownWheel }[]> {
  const known = (await photosWithTruthIn(folder)).find(({ path }) => path.includes(name))!;
  const photo = await readPhoto(known.path);
  if (!photo.ok) throw new Error(photo.problem.text);
  const view = await solveView(photo.value, known.bars);
  const { parts } = await findAndMeasureParts(photo.value, view, { heights: heightsGiven(known.wheels) });
  return known.wheels.map((wheel) => ({ wheel, part: parts.find(({ label }) => label === wheel.label)! }));
}

test("eight wheels under a window: tips and roots within what is stated, and stated to two pixels; round ones are not called oval", async () => {
  const wheels = await wheelsOf("02-tray");
  expect(wheels).toHaveLength(8);
  const tipsPx = wheels.map(
    ({ part, wheel }) => (part.tipDiameterMm!.value - wheel.tipDiameterMm) * wheel.pxPerMm,
  );
  // 0.90 px while walls below tips were taken for brighter than those below flanks and bores: centres were off by 0.3 px
  // for that. Without taking tips back by what light does to the rest of the tooth it would be a tenth more.
  expect(Math.sqrt(tipsPx.reduce((sum, e) => sum + e * e, 0) / 8)).toBeLessThan(1);
  for (const { part, wheel } of wheels) {
    const name = `${wheel.label}: ${part.ovalityMm!.value.toFixed(2)} mm oval`;
    expect(inUncertainties(part.tipDiameterMm!, wheel.tipDiameterMm), name).toBeLessThan(2);
    expect(inUncertainties(part.rootDiameterMm!, wheel.rootDiameterMm!), name).toBeLessThan(2);
    // 1.3 px while only pointed teeth were known: square and worn ones are found further out.
    expect(standardUncertainty(part.tipDiameterMm!), name).toBeLessThan(2 / wheel.pxPerMm);
    // T4, round, was called oval by 0.29 mm with u = 0.07 mm, for glints run twice round the rim.
    expect(inUncertainties(part.ovalityMm!, wheel.ovalityMm), name).toBeLessThan(2.5);
    if (part.boreDiameterMm && wheel.boreDiameterMm !== undefined) {
      expect(inUncertainties(part.boreDiameterMm, wheel.boreDiameterMm), name).toBeLessThan(2);
      expect(standardUncertainty(part.boreDiameterMm), name).toBeLessThan(1 / wheel.pxPerMm);
    }
  }
});

test("trap 8: in hard sun the root is as doubtful as lightness and colour differ about it", async () => {
  const wheels = await wheelsOf("09-hard-shadow");
  expect(wheels).toHaveLength(2);
  for (const { part, wheel } of wheels)
    // By lightness alone that of S3 was 3.9 u too small.
    expect(inUncertainties(part.rootDiameterMm!, wheel.rootDiameterMm!), wheel.label).toBeLessThan(2);
});

test("sound lifting pins under harsh flash: those in glare are unseen, and glare beside others makes none of them bent", async () => {
  const wheels = await wheelsOf("08-harsh");
  const { pins } = wheels.find(({ wheel }) => wheel.label === "S2")!.part;
  expect(pins?.count).toBe(10);
  const states = pins!.places.map((p) => p.state);
  expect(states.filter((s) => s === "unseen").length).toBeGreaterThan(0);
  // One was called bent by 0.58 mm.
  expect(states.filter((s) => s === "off" || s === "missing")).toEqual([]);
});
