import { randomWheel } from "./random-parts.js";
import { random } from "./random.js";
import { sceneOver } from "./scene-base.js";
import type { PictureSize } from "./scene-base.js";
import type { Scene } from "./scene.js";

export const sceneKinds = ["single"] as const;
export type SceneKind = (typeof sceneKinds)[number];

export function sceneOfKind(kind: SceneKind, seed: number, size: PictureSize = "3mp"): Scene {
  const rng = random(seed, kind);
  return sceneOver(
    rng,
    kind,
    [randomWheel(rng, { label: "T1", atMm: [rng.uniform(-20, 20), rng.uniform(-20, 20)] })],
    { size },
  );
}
