import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { encodeJpeg } from "./encode-photo.js";
import { renderScene } from "./render-scene.js";
import { pictureSizes } from "./scene-base.js";
import type { PictureSize } from "./scene-base.js";
import { sceneKinds, sceneOfKind } from "./scene-kinds.js";
import type { SceneKind } from "./scene-kinds.js";

const usage = `Render photographs with known truth.

  npx tsx test/scenes/make.ts KIND SEED OUTDIR [--size 12mp] [--mask]

KIND   one of: ${sceneKinds.join(", ")}
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
  if (!isKind(kind) || !Number.isInteger(seed) || outDir === undefined || !isSize(size)) {
    process.stderr.write(usage);
    process.exitCode = 2;
    return;
  }
  const scene = sceneOfKind(kind, seed, size);
  const started = performance.now();
  const rendered = renderScene(scene, seed);
  const seconds = (performance.now() - started) / 1000;
  await mkdir(outDir, { recursive: true });
  const stem = join(outDir, `${kind}-${seed}`);
  await writeFile(`${stem}.jpg`, await encodeJpeg(rendered, scene.sensor.jpegQuality));
  await writeFile(`${stem}.json`, JSON.stringify({ scene, truth: rendered.truth }, undefined, 1));
  if (values.mask) {
    const { default: sharp } = await import("sharp");
    const grey = rendered.mask.map((c) => 80 * c);
    const raw = { width: rendered.widthPx, height: rendered.heightPx, channels: 1 as const };
    await sharp(grey, { raw }).png().toFile(`${stem}-mask.png`);
  }
  process.stdout.write(`${stem}.jpg ${rendered.widthPx}x${rendered.heightPx} in ${seconds.toFixed(1)} s\n`);
}

const isKind = (kind: string | undefined): kind is SceneKind => sceneKinds.some((k) => k === kind);
const isSize = (size: string): size is PictureSize => size in pictureSizes;

await main();
