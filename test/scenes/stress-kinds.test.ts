import { expect, test } from "vitest";
import { project } from "./scene-camera.js";
import { onFace } from "./scene-truth.js";
import type { Scene, WheelPart } from "./scene.js";
import { stressKinds, stressScene } from "./stress-kinds.js";

const wheelsOf = (scene: Scene): WheelPart[] =>
  scene.parts.filter((part): part is WheelPart => part.type === "wheel");
const many = (kind: (typeof stressKinds)[number]): Scene[] =>
  Array.from({ length: 60 }, (_, seed) => stressScene(kind, seed));

test("the same kind and seed give the same scene, another seed another one", () => {
  for (const kind of stressKinds) {
    expect(stressScene(kind, 7)).toEqual(stressScene(kind, 7));
    expect(stressScene(kind, 8)).not.toEqual(stressScene(kind, 7));
  }
});

test("pictures are 400 to 8000 px wide, teeth 3 to 60 px apart and 12 to 144 in number", () => {
  const scenes = many("resolution");
  const widths = scenes.map(({ widthPx, heightPx }) => Math.max(widthPx, heightPx));
  expect(Math.min(...widths)).toBeGreaterThanOrEqual(400);
  expect(Math.max(...widths)).toBeLessThanOrEqual(8000);
  const pitches = scenes.map((scene) => {
    const [wheel] = wheelsOf(scene);
    const at = (x: number): readonly [number, number] =>
      project(scene.camera, scene.pose, onFace(wheel!, x, 0));
    const [[u0, v0], [u1, v1]] = [at(-0.5), at(0.5)];
    return Math.hypot(u1 - u0, v1 - v0) * Math.PI * wheel!.outline.moduleMm;
  });
  expect(Math.min(...pitches)).toBeLessThan(5);
  expect(Math.max(...pitches)).toBeGreaterThan(30);
  const counts = scenes.flatMap(wheelsOf).map(({ outline }) => outline.toothCount);
  expect(Math.min(...counts)).toBeGreaterThanOrEqual(12);
  expect(Math.max(...counts)).toBeLessThanOrEqual(144);
});

test("where nothing is asked for, there is nothing with teeth", () => {
  expect(many("nothing").flatMap(wheelsOf)).toEqual([]);
});

test("some sheets bow, some are creased, and the wheel lies on the paper", () => {
  const scenes = many("sheet");
  const creased = scenes.filter(({ ground }) => ground.kind === "mat" && ground.crease !== undefined);
  expect(creased.length).toBeGreaterThan(5);
  const raised = wheelsOf(creased[0]!)[0]!;
  expect(raised.faceHeightMm).toBeGreaterThanOrEqual(raised.thicknessMm);
});
