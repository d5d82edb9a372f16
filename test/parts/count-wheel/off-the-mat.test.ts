import { describe, expect, test, vi } from "vitest";
import { findAndMeasureParts, type Part } from "../../../src/parts/index.js";
import { solveView } from "../../../src/view/index.js";
import { photoOfRendered, renderScene, sceneOfKind, stressScene, type Scene } from "../../scenes/index.js";

// Rendering takes a while on a busy machine.
vi.setConfig({ testTimeout: 300_000 });

async function partsIn(scene: Scene, seed: number): Promise<readonly Part[]> {
  const photo = await photoOfRendered(renderScene(scene, seed), scene, "disc.jpg");
  const view = await solveView(photo, {});
  expect(view.source).toBe("none");
  return (await findAndMeasureParts(photo, view)).parts;
}

describe("without a scale, where a pixel stands for a millimetre", () => {
  test("coins and washers on wood and cloth are no count wheels", async () => {
    for (const seed of [1061, 1067]) expect(await partsIn(stressScene("nothing", seed), seed)).toEqual([]);
  });

  test("a count wheel is read all the same, and no length of it is named", async () => {
    const scene = sceneOfKind("count-wheel", 2, "2mp");
    const [part, ...more] = await partsIn(
      { ...scene, ground: { kind: "surface", surface: "white-paper" } },
      2,
    );
    expect(more).toEqual([]);
    expect(part!.kind).toBe("count-wheel");
    expect(part!.notches!.sequence).toBe("hours");
    expect(part!.findings.map((f) => f.text).join()).not.toMatch(/ mm/);
  });

  test("so is a locking cam", async () => {
    const scene = sceneOfKind("locking-cam", 1, "2mp");
    const [part, ...more] = await partsIn(
      { ...scene, ground: { kind: "surface", surface: "white-paper" } },
      1,
    );
    expect(more).toEqual([]);
    expect(part!.kind).toBe("locking-cam");
    expect(part!.findings.map((f) => f.text).join()).not.toMatch(/ mm/);
  });
});
