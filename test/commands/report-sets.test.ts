import { mkdtemp, readdir, rm, truncate } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, expect, test } from "vitest";
import { openMeasurementCache } from "../../src/commands/report-cache.js";
import { setsOfSurvey, type SurveyPhoto } from "../../src/commands/report-sets.js";
import type { SetPhoto } from "../../src/survey/index.js";
import { inventedMarks } from "../survey/invented-marks.js";

const folders: string[] = [];
afterEach(async () => {
  for (const folder of folders.splice(0)) await rm(folder, { recursive: true });
});

const degree = Math.PI / 180;
const shaOf = (k: number): string => String(k).repeat(64);
/** The files are nowhere: whoever measures them again gets nothing. */
const photos = [0, 1, 2, 3].map((k): SurveyPhoto => ({
  path: `/nowhere/turn-T2/${k}.jpg`,
  record: {
    file: `photos/turn-T2/${k}.jpg`,
    sha256: shaOf(k),
    scale: { source: "mat" },
    parts: [],
    problems: [],
  },
  settings: {},
}));
const marks: SetPhoto[] = photos.map(({ path }, k) => {
  const turn = 93 * k * degree;
  const centreMm = [0.1 * Math.cos(turn), 0.1 * Math.sin(turn)] as const;
  return {
    file: path,
    sha256: shaOf(k),
    wheels: [inventedMarks({ turnRad: turn, centreMm })],
    cards: [],
    onMat: true,
  };
});

test("a set of photographs measured by an earlier call is evaluated again without measuring them", async () => {
  const folder = await mkdtemp(join(tmpdir(), "wheelsurvey-"));
  folders.push(folder);
  const open = () => openMeasurementCache(folder, {});
  const now = await setsOfSurvey(photos, new Map(marks.map((m) => [m.file, m])), 1, open);
  expect(now[0]!.eccentricity_mm!.value).toBeCloseTo(0.1, 2);
  const later = await setsOfSurvey(photos, new Map(), 1, open);
  expect(later).toEqual(now);
  // Other settings measure otherwise: what was kept under these does not count.
  const others = await setsOfSurvey(photos, new Map(), 1, () =>
    openMeasurementCache(folder, { faceHeights: [{ heightMm: 3 }] }),
  );
  expect(others[0]?.eccentricity_mm).toBeUndefined();
});

test("a kept file that is cut short is measured again", async () => {
  const folder = await mkdtemp(join(tmpdir(), "wheelsurvey-"));
  folders.push(folder);
  const cache = await openMeasurementCache(folder, {});
  await cache.keepSetPhoto(marks[0]!);
  expect(await cache.findSetPhoto(shaOf(0), "a.jpg")).toEqual({ ...marks[0]!, file: "a.jpg" });
  const [name] = await readdir(folder);
  await truncate(join(folder, name!), 500);
  expect(await cache.findSetPhoto(shaOf(0), "a.jpg")).toBeUndefined();
});
