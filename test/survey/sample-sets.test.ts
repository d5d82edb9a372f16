import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";
import { measurePhotos, measureSets } from "../../src/pipeline/index.js";
import type { SetRecord } from "../../src/record/index.js";
import type { SetPhoto } from "../../src/survey/index.js";

interface Truth {
  readonly kind: "turn" | "play" | "height";
  readonly label: string;
  readonly mat_across_mm: number;
  readonly mat_along_mm: number;
  readonly face_height_mm: number;
  readonly axis_mm: readonly [number, number];
  readonly eccentricity_mm: number;
  readonly twist_deg: readonly number[];
  readonly greatest_rock_deg?: number;
}

const folder = fileURLToPath(new URL("../../samples/sets", import.meta.url));

async function measured(name: string): Promise<{ truth: Truth; set: SetRecord }> {
  const truth = JSON.parse(readFileSync(join(folder, name, "truth.json"), "utf8")) as Truth;
  const paths = readdirSync(join(folder, name))
    .filter((file) => file.endsWith(".jpg"))
    .sort()
    .map((file) => join(folder, name, file));
  const photos: SetPhoto[] = [];
  await measurePhotos(
    paths,
    {
      set: truth.kind,
      matAcrossMm: truth.mat_across_mm,
      matAlongMm: truth.mat_along_mm,
      ...(truth.kind === "height"
        ? {}
        : { faceHeights: [{ heightMm: Number(truth.face_height_mm.toFixed(1)) }] }),
    },
    { workers: 1, onSetPhoto: (photo) => void photos.push(photo) },
  );
  const sets = measureSets(photos, truth.kind);
  expect(sets).toHaveLength(1);
  expect(sets[0]!.label).toBe(truth.label);
  return { truth, set: sets[0]! };
}

// Bars: eccentricity within 0.015 mm; the interval of two standard uncertainties holds the truth.
test.each(["turn-true", "turn-eccentric-0.10", "turn-camera-moved", "turn-hidden-bore"])(
  "rendered turn set %s",
  { timeout: 120_000 },
  async (name) => {
    const { truth, set } = await measured(name);
    const e = set.eccentricity_mm!;
    expect(Math.abs(e.value - truth.eccentricity_mm)).toBeLessThan(0.015);
    expect(Math.abs(e.value - truth.eccentricity_mm)).toBeLessThanOrEqual(2 * e.u);
    expect(Math.hypot(set.axis_mm![0] - truth.axis_mm[0], set.axis_mm![1] - truth.axis_mm[1])).toBeLessThan(
      0.05,
    );
  },
);

test("rendered tight wheel, camera on a stand: tight", { timeout: 120_000 }, async () => {
  const { set } = await measured("play-tight-stand");
  expect(set.verdict).toBe("tight");
});

test("rendered tight wheel, moved about with its arbor: not loose", { timeout: 120_000 }, async () => {
  const { set } = await measured("play-moved-about");
  expect(set.verdict).not.toBe("loose");
  expect(set.radial_play_mm!.value).toBeLessThanOrEqual(2 * set.radial_play_mm!.u);
});

test("rendered wheel that twists by 1 degree: loose", { timeout: 120_000 }, async () => {
  const { truth, set } = await measured("play-twist-1");
  expect(Math.max(...truth.twist_deg) - Math.min(...truth.twist_deg)).toBeCloseTo(1, 6);
  expect(set.verdict).toBe("loose");
  expect(Math.abs(set.twist_deg!.value - 1)).toBeLessThan(2 * set.twist_deg!.u);
});

test(
  "rendered wheel that moves by 0.08 mm on its arbor: loose, sideways only",
  { timeout: 120_000 },
  async () => {
    const { set } = await measured("play-radial-0.08");
    expect(set.verdict).toBe("loose");
    expect(set.findings!.map(({ code }) => code)).toEqual(["loose-radial"]);
    expect(Math.abs(set.radial_play_mm!.value - 0.08)).toBeLessThan(2 * set.radial_play_mm!.u);
  },
);

test(
  "rendered wheel that rocks by 1.5 degrees, camera to one side: loose by its rock",
  { timeout: 120_000 },
  async () => {
    const { truth, set } = await measured("play-rock-1.5-side");
    expect(truth.greatest_rock_deg).toBeCloseTo(1.5, 3);
    expect(set.verdict).toBe("loose");
    expect(set.findings!.map(({ code }) => code)).toEqual(["loose-rock"]);
    expect(Math.abs(set.rock_deg!.value - 1.5)).toBeLessThan(2 * set.rock_deg!.u);
  },
);

test("rendered height set", { timeout: 120_000 }, async () => {
  const { truth, set } = await measured("height");
  const h = set.face_height_mm!;
  expect(Math.abs(h.value - truth.face_height_mm)).toBeLessThan(2 * h.u);
  expect(h.u).toBeLessThan(0.15);
});
