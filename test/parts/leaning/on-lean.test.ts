import { expect, test, vi } from "vitest";
import { findAndMeasureParts, type FaceHeights, type Part } from "../../../src/parts/index.js";
import { standardUncertainty } from "../../../src/quantity/index.js";
import { solveView } from "../../../src/view/index.js";
import { photoOfRendered, renderScene, sceneOfKind } from "../../scenes/index.js";
import type { WheelTruth } from "../../scenes/index.js";

// Rendering takes a while on a busy machine.
vi.setConfig({ testTimeout: 300_000 });

async function leaning(
  seed: number,
  heights: (wheel: WheelTruth) => FaceHeights = () => ({}),
): Promise<{ readonly part: Part; readonly wheel: WheelTruth }> {
  const scene = sceneOfKind("leaning-wheel", seed, "2mp");
  const rendered = renderScene(scene, seed);
  const photo = await photoOfRendered(rendered, scene, "leaning.jpg");
  const wheel = rendered.truth.wheels[0]!;
  const { parts } = await findAndMeasureParts(photo, await solveView(photo), { heights: heights(wheel) });
  expect(parts).toHaveLength(1);
  return { part: parts[0]!, wheel };
}

const isWithin = (
  quantity: Parameters<typeof standardUncertainty>[0] & { readonly value: number },
  truth: number,
): void => expect(Math.abs(quantity.value - truth)).toBeLessThan(2.5 * standardUncertainty(quantity));

// Leans of 7.3 and 18.7 degrees.
test.each([11, 15])(
  "a wheel on its arbor is counted and measured on its own plane (seed %d)",
  async (seed) => {
    const { part, wheel } = await leaning(seed);
    expect(part.teeth!.count).toBe(wheel.toothCount);
    expect(part.teeth!.probability).toBeGreaterThan(0.95);
    isWithin(part.tiltRad!, wheel.tiltRad);
    isWithin(part.tipDiameterMm!, wheel.tipDiameterMm);
    isWithin(part.rootDiameterMm!, wheel.rootDiameterMm);
    isWithin(part.faceHeightMm!, wheel.faceHeightMm);
    expect(part.centreMm![0]).toBeCloseTo(wheel.centreMm[0], 0);
    expect(part.centreMm![1]).toBeCloseTo(wheel.centreMm[1], 0);
    const { text, severity } = part.findings.find(({ code }) => code === "leans")!;
    expect(severity).toBe("note");
    expect(text).toContain("the rim taken to rest on the mat");
  },
);

test("a height that was measured is that of the middle of the face, and better known than where a rim rests", async () => {
  const resting = await leaning(15);
  const { part, wheel } = await leaning(15, ({ faceHeightMm }) => ({ everyPartMm: faceHeightMm }));
  isWithin(part.tipDiameterMm!, wheel.tipDiameterMm);
  const byHeight = ({ tipDiameterMm }: Part): number =>
    Math.abs([...tipDiameterMm!.terms].find(([id]) => id.startsWith("height:"))![1]);
  expect(byHeight(part)).toBeLessThan(0.5 * byHeight(resting.part));
  expect(part.findings.find(({ code }) => code === "leans")!.text).not.toContain("rest on the mat");
});
