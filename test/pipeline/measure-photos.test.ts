import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { describeSheet } from "../../src/mat/index.js";
import { measurePhoto, measurePhotos } from "../../src/pipeline/index.js";
import { startMeasureWorker } from "../../src/pipeline/start-measure-worker.js";
import { renderSheet } from "../scenes/sheet-raster.js";
import { drawnWheel, drawWheel } from "../photo/drawn-wheel.js";
import { noisyJpeg, pngHeader } from "../photo/test-pictures.js";

let folder: string;
let wheel: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "pipeline-"));
  wheel = join(folder, "wheel.png");
  await drawWheel().png().toFile(wheel);
});
afterAll(() => rm(folder, { recursive: true }));

describe("one photograph", () => {
  test("counts the teeth of a drawn wheel and measures it by the scale given", async () => {
    const pxPerMm = 10;
    const record = await measurePhoto(wheel, { pxPerMm });
    expect(record.file).toBe(wheel);
    expect(record.scale.source).toBe("given");
    expect(record.parts.length).toBe(1);
    const [part] = record.parts;
    expect(part!.teeth!.count).toBe(drawnWheel.teeth);
    const tip = part!.tip_diameter_mm!;
    // Drawn: 2 x 180 px. The interval is the claim under test (k = 2), but no wider than 2 %.
    expect(Math.abs(tip.value - (2 * drawnWheel.tipRadiusPx) / pxPerMm)).toBeLessThan(2 * tip.u);
    expect(2 * tip.u).toBeLessThan(0.02 * tip.value);
    expect(part!.centre_px[0]).toBeCloseTo(drawnWheel.centrePx[0], 0);
    expect(part!.centre_px[1]).toBeCloseTo(drawnWheel.centrePx[1], 0);
  });

  test("takes the scale from two points just as from px/mm", async () => {
    const scale = { fromPx: [20, 30], toPx: [420, 330], lengthMm: 50 } as const; // 500 px
    const record = await measurePhoto(wheel, { scale });
    expect(record.scale).toEqual({ source: "given", px_per_mm: 10 });
    expect(record.settings).toEqual({ scale: { from_px: [20, 30], to_px: [420, 330], length_mm: 50 } });
  });

  test("without a scale, counts but states no length", async () => {
    const record = await measurePhoto(wheel);
    expect(record.parts[0]!.teeth!.count).toBe(drawnWheel.teeth);
    expect(Object.keys(record.parts[0]!).filter((key) => key.endsWith("_mm"))).toEqual([]);
    expect(record.problems.map(({ code }) => code)).toContain("no-mat");
  });

  test("a picture with no wheel in it says so", async () => {
    const blank = join(folder, "blank.png");
    await sharp({ create: { width: 400, height: 300, channels: 3, background: "#e8e6e0" } })
      .png()
      .toFile(blank);
    const record = await measurePhoto(blank);
    expect(record.parts).toEqual([]);
    expect(record.problems.map(({ code }) => code)).toContain("no-part");
    expect(record.sha256).toMatch(/^[0-9a-f]{64}$/);
  });

  test("leaves out readings that were taken on another paper", async () => {
    const mat = join(folder, "mat.png");
    await drawSmallLetterMat(mat);
    const settings = { matAcrossMm: 148.5, matAlongMm: 148.5 };
    const named = await measurePhoto(mat, { ...settings, matPaper: "letter" });
    expect(named.scale.source).toBe("mat");
    expect(named.view!.paper).toBe("letter");
    expect(named.view!.print_scale_measured).toBe(true);
    // 148.5 of 150 mm.
    expect(named.view!.print_scale[0]).toBeCloseTo(0.99, 3);
    const other = await measurePhoto(mat, { ...settings, matPaper: "a4" });
    expect(other.view!.print_scale_measured).toBe(false);
    expect(other.view!.print_scale[0]).toBeCloseTo(1, 3);
    const problem = other.problems.find(({ code }) => code === "mat-other-paper");
    expect(problem!.text).toContain("US Letter");
    expect(problem!.text).toContain("A4");
  });
});

// Threads that load TypeScript start slowly, more so on a busy machine.
describe("several photographs", { timeout: 240_000 }, () => {
  test("bad ones stop no good one, and the order stays", async () => {
    const cut = join(folder, "cut.jpg");
    const bomb = join(folder, "bomb.png");
    const words = join(folder, "words.jpg");
    const jpeg = await noisyJpeg();
    await writeFile(cut, jpeg.subarray(0, jpeg.length >> 1));
    await writeFile(bomb, pngHeader(30_000, 30_000));
    await writeFile(words, "no picture");
    const paths = [cut, wheel, bomb, join(folder, "none.jpg"), words, wheel];
    const seen: number[] = [];
    const records = await measurePhotos(paths, {}, { workers: 2, onDone: (_, index) => seen.push(index) });
    expect(records.map(({ file }) => file)).toEqual(paths);
    expect(records.map(({ parts, problems }) => parts[0]?.teeth?.count ?? problems[0]!.code)).toEqual([
      "damaged-image",
      drawnWheel.teeth,
      "image-too-large",
      "file-unreadable",
      "not-an-image",
      drawnWheel.teeth,
    ]);
    expect(seen.sort()).toEqual([0, 1, 2, 3, 4, 5]);
  });

  test("workers give what this thread gives", async () => {
    const here = await measurePhotos([wheel, wheel], { pxPerMm: 8 }, { workers: 1 });
    const there = await measurePhotos([wheel, wheel], { pxPerMm: 8 }, { workers: 2 });
    expect(there).toEqual(here);
    expect(here[0]!.parts.length).toBe(1);
  });

  test("no photograph gives no record", async () => {
    expect(await measurePhotos([])).toEqual([]);
  });

  test("a thread that is stopped in the middle fails its photograph instead of hanging", async () => {
    const worker = startMeasureWorker({});
    const measuring = expect(worker.measure(wheel)).rejects.toThrow("stopped");
    await worker.stop();
    await measuring;
    await expect(worker.measure(wheel)).rejects.toThrow("stopped");
  });
});

/** A US Letter mat printed one per cent small, flat and square to the camera, 8 px/mm. */
async function drawSmallLetterMat(path: string): Promise<void> {
  const { width, height, grey } = renderSheet(describeSheet("letter"), 8, { printScale: [0.99, 0.99] });
  await sharp(Uint8Array.from(grey, Math.round), { raw: { width, height, channels: 1 } })
    .blur(0.7)
    .png()
    .toFile(path);
}
