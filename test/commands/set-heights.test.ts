import { copyFile, mkdir, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, expect, test } from "vitest";
import { readMeasurementDocument, readSurveyDocument, type PartRecord } from "../../src/record/index.js";
import { sceneSetOfKind, wheelOutline } from "../scenes/index.js";
import { call } from "./recorded-io.js";

const sample = fileURLToPath(new URL("../../samples/sets/height", import.meta.url));
let folder: string;
let paths: readonly string[];
let bars: readonly string[];
let faceHeightMm: number;
/** Of the wheel that the sample was rendered from. */
let tipMm: number;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "set-heights-"));
  // A folder named height would make a set of its own accord.
  paths = ["1.jpg", "2.jpg"].map((name) => join(folder, name));
  for (const path of paths) await copyFile(join(sample, basename(path)), path);
  const truth = JSON.parse(await readFile(join(sample, "truth.json"), "utf8")) as Record<string, number>;
  bars = ["--mat-across", String(truth["mat_across_mm"]), "--mat-along", String(truth["mat_along_mm"])];
  faceHeightMm = truth["face_height_mm"]!;
  const { scenes, truth: rendered } = sceneSetOfKind("height", truth["seed"]!);
  expect(rendered.faceHeightMm).toBeCloseTo(faceHeightMm, 4);
  const wheel = scenes[0]!.parts[0]!;
  if (wheel.type !== "wheel") throw new Error("expected a wheel");
  tipMm = wheelOutline(wheel.outline).tipDiameterMm;
});
afterAll(() => rm(folder, { recursive: true }));

async function measured(...options: string[]) {
  const { out } = await call("measure", ...paths, ...bars, "--json", "--workers", "1", ...options);
  const document = readMeasurementDocument(out);
  return { document, parts: document.photos.map(({ parts }) => parts.find(({ teeth }) => teeth)!) };
}

const errorOf = ({ tip_diameter_mm: tip }: PartRecord): number => Math.abs(tip!.value - tipMm);

test(
  "a raised wheel: with its height set every size is at its height, without it the tips are too large",
  { timeout: 240_000 },
  async () => {
    const without = await measured();
    const withSet = await measured("--set", "height");
    for (const [i, part] of withSet.parts.entries()) {
      const before = without.parts[i]!;
      // 12 mm higher than assumed, seen from 30 cm: 4 % of 63 mm. No interval of the first could hold the truth.
      expect(errorOf(before)).toBeGreaterThan(2);
      expect(errorOf(before)).toBeGreaterThan(2 * before.tip_diameter_mm!.u);
      expect(errorOf(part)).toBeLessThan(0.15);
      expect(errorOf(part)).toBeLessThanOrEqual(2 * part.tip_diameter_mm!.u);
      expect(Math.abs(part.face_height_mm!.value - faceHeightMm)).toBeLessThanOrEqual(
        2 * part.face_height_mm!.u,
      );
      for (const key of ["root_diameter_mm", "pitch_diameter_mm", "module_mm"] as const)
        expect(part[key]!.value / before[key]!.value).toBeCloseTo(
          part.tip_diameter_mm!.value / before.tip_diameter_mm!.value,
          2,
        );
      expect(part.findings.map(({ code }) => code)).toContain("height-from-set");
      const [set] = withSet.document.sets;
      expect(withSet.document.photos[i]!.settings!.face_heights_mm).toEqual([
        {
          label: "T3",
          height_mm: set!.face_height_mm!.value,
          u_mm: set!.face_height_mm!.u,
          from: "height-set",
        },
      ]);
    }
  },
);

test("a typed height wins over the height of a set", { timeout: 240_000 }, async () => {
  const { document, parts } = await measured("--set", "height", "--face-height", "T3=9");
  expect(document.sets[0]!.face_height_mm!.value).toBeCloseTo(faceHeightMm, 0);
  for (const [i, part] of parts.entries()) {
    expect(part.face_height_mm).toMatchObject({ value: 9, u: 0.06 });
    expect(part.findings.map(({ code }) => code)).not.toContain("height-from-set");
    expect(document.photos[i]!.settings!.face_heights_mm).toEqual([{ label: "T3", height_mm: 9 }]);
  }
});

test(
  "a survey folder: its height set holds for the other photographs of that wheel, and verify repeats it",
  { timeout: 400_000 },
  async () => {
    const survey = join(folder, "survey");
    await mkdir(join(survey, "photos/height-T3"), { recursive: true });
    for (const name of ["1.jpg", "2.jpg"])
      await copyFile(join(sample, name), join(survey, "photos/height-T3", name));
    // Another file with the same picture: a photograph of the wheel that belongs to no set.
    await writeFile(
      join(survey, "photos/alone.jpg"),
      Buffer.concat([await readFile(paths[0]!), Buffer.from([0])]),
    );
    const [across, along] = [bars[1]!, bars[3]!];
    await writeFile(join(survey, "survey.yaml"), `scale: { across: ${across}, along: ${along} }\n`);
    const made = await call("report", survey, "--workers", "1");
    expect(made.err).not.toContain("expected");
    const text = await readFile(join(survey, "report/survey.json"), "utf8");
    const { photos } = readSurveyDocument(text, "survey.json").measurement;
    expect(photos).toHaveLength(3);
    for (const { parts, settings } of photos) {
      expect(errorOf(parts[0]!)).toBeLessThan(0.15);
      expect(settings!.face_heights_mm![0]).toMatchObject({ label: "T3", from: "height-set" });
    }
    const again = await call("report", survey, "--workers", "1");
    expect(again.exitCode).toBe(0);
    const later = await readFile(join(survey, "report/survey.json"), "utf8");
    expect(readSurveyDocument(later, "survey.json").measurement).toEqual(
      readSurveyDocument(text, "survey.json").measurement,
    );
    const verified = await call("verify", join(survey, "report"), "--measure", "--workers", "1");
    expect(verified.err).toContain("nothing differs beyond uncertainty");
    expect(verified.exitCode).toBe(0);
  },
);
