import { createHash } from "node:crypto";
import { mkdir, readdir, readFile, rename, writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { encodeJpeg, renderScene, sceneOfKind, stressScene } from "../scenes/index.js";
import type { PictureSize, Scene, SceneKind, SceneTruth, StressKind, WheelTruth } from "../scenes/index.js";
import type { KnownPhoto, KnownWheel } from "./known-photo.js";

const sources = ["../scenes", "../../src/mat"].map((folder) =>
  fileURLToPath(new URL(folder, import.meta.url)),
);

/** These only say what is to be rendered. */
const sceneMakers = /^(random|scene-(base|kinds|sets)|stress-kinds|make)\b/;

/** Changes with the program that renders: a kept picture of another one, or of another scene, is rendered anew. */
export async function rendererKey(): Promise<string> {
  const hash = createHash("sha256");
  for (const folder of sources)
    for (const name of (await readdir(folder)).sort())
      if (name.endsWith(".ts") && !name.endsWith(".test.ts") && !sceneMakers.test(name))
        hash.update(name).update(await readFile(join(folder, name)));
  return hash.digest("hex").slice(0, 12);
}

interface KeptScene {
  readonly key: string;
  readonly scene: Scene;
  readonly truth: SceneTruth;
}

/** The photograph of a kind and seed with its truth, rendered now or kept in `folder` by an earlier call. */
export const scenePhoto = (
  folder: string,
  kind: SceneKind,
  seed: number,
  size: PictureSize,
  key: string,
): Promise<RenderedPhoto> =>
  keptPhoto(join(folder, `${kind}-${seed}-${size}`), kind, seed, key, () => sceneOfKind(kind, seed, size));

/** The same of the photographs over the full range of troubles. */
export const stressPhoto = (
  folder: string,
  kind: StressKind,
  seed: number,
  key: string,
): Promise<RenderedPhoto> =>
  keptPhoto(join(folder, `stress-${kind}-${seed}`), kind, seed, key, () => stressScene(kind, seed));

type RenderedPhoto = KnownPhoto & { readonly isNew: boolean };

async function keptPhoto(
  stem: string,
  kind: string,
  seed: number,
  key: string,
  makeScene: () => Scene,
): Promise<RenderedPhoto> {
  const path = `${stem}.jpg`;
  const kept = await readKept(`${stem}.json`);
  const scene = makeScene();
  if (kept?.key === key && JSON.stringify(kept.scene) === JSON.stringify(scene))
    return { ...knownScene(kind, path, kept), isNew: false };
  const rendered = renderScene(scene, seed);
  await mkdir(dirname(path), { recursive: true });
  await writeWhole(path, await encodeJpeg(rendered, scene.sensor.jpegQuality));
  // The truth comes last: with it the pair is whole.
  const made: KeptScene = { key, scene, truth: rendered.truth };
  await writeWhole(`${stem}.json`, JSON.stringify(made, undefined, 1));
  return { ...knownScene(kind, path, made), isNew: true };
}

async function readKept(path: string): Promise<KeptScene | undefined> {
  try {
    return JSON.parse(await readFile(path, "utf8")) as KeptScene;
  } catch {
    return undefined;
  }
}

async function writeWhole(path: string, data: string | Uint8Array): Promise<void> {
  await writeFile(`${path}.${process.pid}.tmp`, data);
  await rename(`${path}.${process.pid}.tmp`, path);
}

/** A scene and its truth, as `test/scenes/make.ts` writes them, too. */
export function knownScene(
  kind: string,
  path: string,
  { scene, truth }: { readonly scene: Pick<Scene, "given">; readonly truth: SceneTruth },
): KnownPhoto {
  const { barAcrossMm, barAlongMm } = scene.given;
  const [footX, footY] = truth.cameraAtMm;
  return {
    kind,
    path,
    onMat: truth.mat !== undefined,
    bars: {
      ...(barAcrossMm === undefined ? {} : { matAcrossMm: barAcrossMm }),
      ...(barAlongMm === undefined ? {} : { matAlongMm: barAlongMm }),
    },
    wheels: truth.wheels.map((wheel) => knownWheel(wheel, footX, footY)),
    plateCount: truth.plates.length,
  };
}

function knownWheel(wheel: WheelTruth, footX: number, footY: number): KnownWheel {
  const isCountWheel = wheel.type === "count-wheel";
  return {
    label: wheel.label,
    toothCount: isCountWheel ? countedOn(wheel) : wheel.toothCount,
    isCountWheel,
    centrePx: wheel.centrePx,
    centreMm: wheel.centreMm,
    faceHeightMm: wheel.faceHeightMm,
    tipDiameterMm: wheel.tipDiameterMm,
    rootDiameterMm: wheel.rootDiameterMm,
    ...(wheel.moduleMm === undefined ? {} : { moduleMm: wheel.moduleMm }),
    ...(wheel.boreDiameterMm !== undefined && !wheel.boreHidden
      ? { boreDiameterMm: wheel.boreDiameterMm, eccentricityMm: Math.hypot(...wheel.eccentricityMm) }
      : {}),
    ovalityMm: wheel.ovalityMm,
    leanRad: wheel.tiltRad,
    pxPerMm: wheel.pxPerMm,
    pxPerTooth: wheel.pxPerTooth,
    fromFootMm: Math.hypot(wheel.centreMm[0] - footX, wheel.centreMm[1] - footY),
    rimSeen: wheel.rimSeen,
    ...(wheel.pinionLeaves === undefined ? {} : { pinionLeaves: wheel.pinionLeaves }),
  };
}

/** What stands for teeth on a disc without them: notches, or else the pins of a pin wheel or a lantern. */
const countedOn = ({ notchesRad = [], pins }: WheelTruth): number =>
  notchesRad.length > 0 ? notchesRad.length : (pins?.count ?? 0);
