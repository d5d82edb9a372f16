import { createHash } from "node:crypto";
import { mkdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { encodeJpeg, renderScene, sceneSetOfKind } from "../scenes/index.js";
import type { PictureSize, Scene, SceneSetKind, SceneSetTruth } from "../scenes/index.js";
import { measurePhotos, measureSets } from "../../src/pipeline/index.js";
import type { SetRecord } from "../../src/record/index.js";
import type { SetPhoto } from "../../src/survey/index.js";

/** Rendered photographs of one set with what is true of it. */
export interface KnownSet {
  readonly kind: SceneSetKind;
  readonly seed: number;
  readonly paths: readonly string[];
  readonly truth: SceneSetTruth;
  readonly given: Scene["given"];
  /** Centre of the tooth circle on its face in the first photograph. */
  readonly firstCentreMm: readonly [number, number];
}

/** Rendered now, or kept in `folder` by an earlier call of the same renderer with the same scenes. */
export async function knownSet(
  folder: string,
  kind: SceneSetKind,
  seed: number,
  size: PictureSize,
  renderer: string,
): Promise<KnownSet> {
  const stem = join(folder, `${kind}-${seed}-${size}`);
  const { scenes, truth } = sceneSetOfKind(kind, seed, size);
  const key = createHash("sha256").update(renderer).update(JSON.stringify(scenes)).digest("hex").slice(0, 12);
  const paths = scenes.map((_, i) => `${stem}-${i + 1}.jpg`);
  const known: KnownSet = {
    kind,
    seed,
    paths,
    truth,
    given: scenes[0]!.given,
    firstCentreMm: scenes[0]!.parts[0]!.atMm,
  };
  const kept = await readFile(`${stem}.key`, "utf8").catch(() => undefined);
  if (kept === key) return known;
  await mkdir(folder, { recursive: true });
  for (const [i, scene] of scenes.entries())
    await writeFile(paths[i]!, await encodeJpeg(renderScene(scene, seed + i), scene.sensor.jpegQuality));
  // The key comes last: with it the set is whole.
  await writeFile(`${stem}.key`, key);
  return known;
}

/** Measures a set as the command does; the face height is typed in to 0.1 mm, but for a height set. */
export async function measureKnownSet(known: KnownSet): Promise<SetRecord> {
  const set = known.truth.kind;
  const photos = new Map<string, SetPhoto>();
  await measurePhotos(
    known.paths,
    {
      set,
      ...(known.given.barAcrossMm === undefined ? {} : { matAcrossMm: known.given.barAcrossMm }),
      ...(known.given.barAlongMm === undefined ? {} : { matAlongMm: known.given.barAlongMm }),
      ...(set === "height"
        ? {}
        : { faceHeights: [{ heightMm: Number(known.truth.faceHeightMm.toFixed(1)) }] }),
    },
    { workers: 1, onSetPhoto: (photo) => void photos.set(photo.file, photo) },
  );
  const [record] = measureSets([...photos.values()], set);
  if (record === undefined) throw new Error(`${known.kind} ${known.seed}: no set came out`);
  return record;
}
