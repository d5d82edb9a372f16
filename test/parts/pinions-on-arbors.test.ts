import { expect, test, vi } from "vitest";
import { findAndMeasureParts } from "../../src/parts/index.js";
import { networksForPhoto } from "../../src/pipeline/index.js";
import { readPhoto } from "../../src/photo/index.js";
import { standardUncertainty } from "../../src/quantity/index.js";
import { solveView } from "../../src/view/index.js";
import { matGround, photoOfRendered, renderScene, sceneOfKind, wheelOutline } from "../scenes/index.js";
import type { ScenePart, WheelPart } from "../scenes/index.js";
import { photographed } from "./photographed.js";

vi.setConfig({ testTimeout: 240_000 });

// Rendered: invented wheels let through the pierced sheet, a pinion of steel above each.
test.each([3, 15])(
  "the pinion above a wheel is counted, and is of that wheel's arbor; seed %i",
  async (seed) => {
    const { photo, view, truth } = await photographed("pinion-on-wheel", seed, "5mp");
    const { parts } = await findAndMeasureParts(photo, view, networksForPhoto().ask);
    expect(parts.map(({ kind }) => kind)).toEqual(["wheel", "pinion"]);
    const [wheel, pinion] = parts as [(typeof parts)[0], (typeof parts)[0]];
    const [known] = truth.wheels;
    expect(wheel.teeth!.count).toBe(known!.toothCount);
    expect(pinion.teeth!.count).toBe(known!.pinionLeaves);
    expect(pinion.teeth!.probability).toBeGreaterThan(0.95);
    expect(pinion.onArborOf).toBe(wheel.id);
    const scene = sceneOfKind("pinion-on-wheel", seed, "5mp").parts[0] as WheelPart;
    const { fromMm, lengthMm, leaves, moduleMm } = scene.pinion!;
    const { tipDiameterMm } = wheelOutline({ toothCount: leaves, moduleMm, form: "pinion" });
    // A value as many standard uncertainties off turns up in one of 370.
    const off = (q: NonNullable<typeof pinion.tipDiameterMm>, is: number) =>
      Math.abs(q.value - is) / standardUncertainty(q);
    expect(off(pinion.tipDiameterMm!, tipDiameterMm)).toBeLessThan(3);
    expect(off(pinion.faceHeightMm!, scene.faceHeightMm + fromMm + lengthMm)).toBeLessThan(3);
  },
);

test("a bare arbor is no pinion", async () => {
  const base = sceneOfKind("pinion-on-wheel", 3, "3mp");
  const { pinion, ...wheel } = base.parts[0] as WheelPart;
  expect(pinion).toBeDefined();
  const scene = { ...base, ground: matGround(), parts: [wheel] as ScenePart[] };
  const photo = await photoOfRendered(renderScene(scene, 3), scene, "bare-arbor.jpg");
  const { parts } = await findAndMeasureParts(photo, await solveView(photo), networksForPhoto().ask);
  expect(parts.map(({ kind }) => kind)).toEqual(["wheel"]);
});

// Rendered: invented lanterns whose upper caps are drilled through, 7 and 8 trundles; see samples/README.md.
test("the trundles of a lantern above its wheel are counted by their ends in its cap", async () => {
  const photo = await readPhoto("samples/demo-survey/photos/10-patina.jpg");
  if (!photo.ok) throw new Error(photo.problem.text);
  const { parts } = await findAndMeasureParts(
    photo.value,
    await solveView(photo.value),
    networksForPhoto().ask,
  );
  const trundlesOn = (label: string) => parts.find((part) => part.kind === "pinion" && part.label === label);
  for (const [label, count, moduleMm] of [
    ["S3", 8, 0.58],
    ["S4", 7, 0.55],
  ] as const) {
    const lantern = trundlesOn(label)!;
    expect(lantern.teeth!.count).toBe(count);
    expect(lantern.teeth!.probability).toBeGreaterThan(0.95);
    expect(parts.find(({ id }) => id === lantern.onArborOf)!.label).toBe(label);
    // As many standard uncertainties off turn up in one of 370.
    const circle = lantern.pitchDiameterMm!;
    expect(Math.abs(circle.value - count * moduleMm) / standardUncertainty(circle)).toBeLessThan(3);
  }
});
