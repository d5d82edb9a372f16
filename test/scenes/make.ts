import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { encodeJpeg } from "./encode-photo.js";
import { renderScene } from "./render-scene.js";
import { pictureSizes } from "./scene-base.js";
import type { PictureSize } from "./scene-base.js";
import { sceneKinds, sceneOfKind } from "./scene-kinds.js";
import type { SceneKind } from "./scene-kinds.js";
import { sceneSetKinds, sceneSetOfKind } from "./scene-sets.js";
import type { SceneSetKind } from "./scene-sets.js";
import type { Scene } from "./scene.js";

const usage = `Render photographs with known truth.

  npx tsx test/scenes/make.ts KIND SEED OUTDIR [--size 12mp] [--mask]

KIND   one of: ${sceneKinds.join(", ")}
       or a set of photographs: ${sceneSetKinds.join(", ")}
--size one of: ${Object.keys(pictureSizes).join(", ")} (default 3mp)
--mask also write the class of every pixel as PNG (0, 80, 160, 240)
`;

async function main(): Promise<void> {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: { size: { type: "string", default: "3mp" }, mask: { type: "boolean", default: false } },
  });
  const [kind, seedText, outDir] = positionals;
  const size = values.size;
  const seed = Number(seedText);
  if (
    (!isKind(kind) && !isSetKind(kind)) ||
    !Number.isInteger(seed) ||
    outDir === undefined ||
    !isSize(size)
  ) {
    process.stderr.write(usage);
    process.exitCode = 2;
    return;
  }
  await mkdir(outDir, { recursive: true });
  const stem = join(outDir, `${kind}-${seed}`);
  if (isKind(kind)) {
    await write(sceneOfKind(kind, seed, size), seed, stem, values.mask);
    return;
  }
  const { scenes, truth } = sceneSetOfKind(kind, seed, size);
  for (const [i, scene] of scenes.entries()) await write(scene, seed + i, `${stem}-${i + 1}`, values.mask);
  await writeFile(`${stem}-set.json`, JSON.stringify(truth, undefined, 1));
}

async function write(scene: Scene, seed: number, stem: string, mask: boolean): Promise<void> {
  const started = process.cpuUsage();
  const rendered = renderScene(scene, seed);
  const seconds = process.cpuUsage(started).user / 1e6;
  await writeFile(`${stem}.jpg`, await encodeJpeg(rendered, scene.sensor.jpegQuality));
  await writeFile(`${stem}.json`, JSON.stringify({ scene, truth: rendered.truth }, undefined, 1));
  if (mask) {
    const { default: sharp } = await import("sharp");
    const grey = rendered.mask.map((c) => 80 * c);
    const raw = { width: rendered.widthPx, height: rendered.heightPx, channels: 1 as const };
    await sharp(grey, { raw }).png().toFile(`${stem}-mask.png`);
  }
  const { widthPx, heightPx } = rendered;
  process.stdout.write(`${stem}.jpg ${widthPx}x${heightPx}, ${seconds.toFixed(1)} s of processor time\n`);
}

const isKind = (kind: string | undefined): kind is SceneKind => sceneKinds.some((k) => k === kind);
const isSetKind = (kind: string | undefined): kind is SceneSetKind => sceneSetKinds.some((k) => k === kind);
const isSize = (size: string): size is PictureSize => size in pictureSizes;

await main();
