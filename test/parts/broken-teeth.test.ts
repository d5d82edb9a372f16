import { readFile } from "node:fs/promises";
import { expect, test, vi } from "vitest";
import { findAndMeasureParts } from "../../src/parts/index.js";
import { readPhoto } from "../../src/photo/index.js";
import { solveView } from "../../src/view/index.js";

vi.setConfig({ testTimeout: 120_000 });

interface Truth {
  readonly parts: readonly {
    readonly face_height_mm: number;
    readonly teeth: {
      readonly count: number;
      readonly missing: readonly { readonly angle_deg: number }[];
      readonly bent: readonly { readonly angle_deg: number; readonly offset_mm: number }[];
    };
  }[];
}

const samples = new URL("../../samples/demo-survey/", import.meta.url);
const degrees = (rad: number): number => (rad * 180) / Math.PI;
const apartDeg = (a: number, b: number): number => Math.abs(((((a - b) % 360) + 540) % 360) - 180);

// The rendered sample with its truth: two teeth gone side by side, one bent by 0.2 of a pitch.
test("missing and bent teeth are named by their places, and no others", async () => {
  const name = "06-broken-teeth";
  const truth = JSON.parse(await readFile(new URL(`truth/${name}.json`, samples), "utf8")) as Truth;
  const [known] = truth.parts;
  const photo = await readPhoto(new URL(`photos/${name}.jpg`, samples).pathname);
  if (!photo.ok) throw new Error(photo.problem.text);
  const view = await solveView(photo.value, {});
  const { parts } = await findAndMeasureParts(photo.value, view, {
    heights: { everyPartMm: known!.face_height_mm },
  });
  const { teeth } = parts[0]!;
  const { count, missing, bent } = known!.teeth;
  const pitchDeg = 360 / count;
  expect(teeth!.count).toBe(count);
  expect(teeth!.missing).toHaveLength(missing.length);
  for (const { angle_deg } of missing)
    expect(teeth!.missing.some((m) => apartDeg(degrees(m.angleRad), angle_deg) < pitchDeg / 2)).toBe(true);
  expect(teeth!.bent).toHaveLength(bent.length);
  expect(apartDeg(degrees(teeth!.bent[0]!.angleRad), bent[0]!.angle_deg)).toBeLessThan(pitchDeg / 2);
  // Truth is what the tip was pushed by; the reading is that of the outer half of the tooth.
  expect(teeth!.bent[0]!.offsetMm / bent[0]!.offset_mm).toBeGreaterThan(0.3);
  expect(teeth!.bent[0]!.offsetMm / bent[0]!.offset_mm).toBeLessThan(1.2);
  expect(teeth!.places.filter(({ state }) => state === "short")).toHaveLength(0);
});
