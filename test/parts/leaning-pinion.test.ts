import { expect, test, vi } from "vitest";
import { findAndMeasureParts } from "../../src/parts/index.js";
import { networksForPhoto } from "../../src/pipeline/index.js";
import { solveView } from "../../src/view/index.js";
import { photoOfRendered, renderScene, sceneOfKind, type ScenePart } from "../scenes/index.js";

vi.setConfig({ testTimeout: 240_000 });

// Rendered; the sizes are those of an invented wheel and pinion.
test("a pinion that leans on a wheel's rim is measured in its place, its count not sure", async () => {
  const base = sceneOfKind("plate-front", 4, "2mp");
  const wheel = { ...sceneOfKind("single", 4, "2mp").parts[0]!, atMm: [0, 0] as const };
  const pinion = sceneOfKind("pinion", 4, "2mp").parts[0]!;
  const apartMm = tipRadiusMm(wheel) + tipRadiusMm(pinion) + 0.05;
  const scene = { ...base, parts: [wheel, { ...pinion, atMm: [apartMm, 0] as const }] as ScenePart[] };
  const photo = await photoOfRendered(renderScene(scene, 7), scene, "leaning.jpg");
  const view = await solveView(photo);
  const { parts, problems } = await findAndMeasureParts(photo, view, {
    ...networksForPhoto().ask,
  });
  expect(parts.map(({ kind }) => kind)).toEqual(["wheel", "pinion"]);
  expect(problems.filter(({ code }) => code === "part-unknown")).toEqual([]);
  const { centreMm, teeth } = parts[1]!;
  // Half a millimetre is what the wheel's teeth may draw its middle by.
  expect(Math.hypot(centreMm![0] - apartMm, centreMm![1])).toBeLessThan(0.5);
  // The teeth that it leans on hide a leaf: six, and not surely.
  expect(teeth!.count).toBe(6);
  expect(teeth!.probability).toBeLessThan(0.95);
});

function tipRadiusMm(part: ScenePart): number {
  const { outline } = part as { outline: { toothCount: number; moduleMm: number } };
  return (outline.toothCount / 2 + 1.4) * outline.moduleMm;
}
