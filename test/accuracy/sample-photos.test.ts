import { mkdir, mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { photosWithTruthIn, sampleTruthFolders } from "./sample-photos.js";

let survey: string;
beforeEach(async () => {
  survey = await mkdtemp(join(tmpdir(), "known-photos-"));
  await mkdir(join(survey, "truth"));
  await mkdir(join(survey, "photos"));
});
afterEach(() => rm(survey, { recursive: true }));

/** In the format of samples/README.md; invented. */
const truth = {
  schema: "wheelsurvey/sample-truth/1",
  photo: "one.jpg",
  width_px: 1000,
  height_px: 800,
  mat: "a4",
  foot_point_mm: [3, 0],
  parts: [
    {
      label: "T1",
      kind: "wheel",
      centre_mm: [0, 4],
      centre_px: [500, 400],
      px_per_mm: 10,
      face_height_mm: 1.9,
      tip_diameter_mm: 40,
      root_diameter_mm: 37,
      pitch_diameter_mm: 38,
      module_mm: 0.95,
      teeth: {
        count: 4,
        tips: [
          [700, 400],
          [500, 200],
          [300, 400],
          [500, 900],
        ].map((at_px) => ({ at_px })),
      },
      bore: { diameter_mm: 4, visible: false },
      eccentricity_mm: 0.12,
      ovality_mm: 0,
    },
  ],
};

const write = (document: unknown): Promise<void> =>
  writeFile(join(survey, "truth", "one.json"), JSON.stringify(document));

test("reads a sample's truth, and the bars that its survey names", async () => {
  await write(truth);
  await writeFile(join(survey, "photos", "one.jpg"), "");
  await writeFile(join(survey, "survey.yaml"), "scale: { across: 149.62 mm, along: 150.46 mm }\n");
  const [photo] = await photosWithTruthIn(join(survey, "truth"));
  expect(photo!.path).toBe(join(survey, "photos", "one.jpg"));
  expect(photo!.bars).toEqual({ matAcrossMm: 149.62, matAlongMm: 150.46 });
  const [wheel] = photo!.wheels;
  // Closed forms: 3-4-5; 38 pi mm at 10 px/mm over 4 teeth; one tip of four below the picture.
  expect(wheel!.fromFootMm).toBe(5);
  expect(wheel!.pxPerTooth).toBeCloseTo(95 * Math.PI, 9);
  expect(wheel!.rimSeen).toBe(0.75);
  expect(wheel!.boreDiameterMm).toBeUndefined();
  expect(wheel!.eccentricityMm).toBeUndefined();
});

test("uses no bars where the picture has no mat", async () => {
  // JSON leaves out what is undefined.
  await write({ ...truth, mat: undefined });
  await writeFile(join(survey, "truth", "one.jpg"), "");
  await writeFile(join(survey, "survey.yaml"), "scale: { across: 149.62 mm, along: 150.46 mm }\n");
  const [photo] = await photosWithTruthIn(join(survey, "truth"));
  expect(photo).toMatchObject({ onMat: false, bars: {}, path: join(survey, "truth", "one.jpg") });
});

test("says which document is wrong, and which photograph is not there", async () => {
  await write({ ...truth, parts: [{ ...truth.parts[0], px_per_mm: "10" }] });
  await expect(photosWithTruthIn(join(survey, "truth"))).rejects.toThrow(/one\.json.*px_per_mm/s);
  await write(truth);
  await expect(photosWithTruthIn(join(survey, "truth"))).rejects.toThrow(/one\.jpg: no such photograph/);
});

test("finds the folders with truth in them", async () => {
  expect(await sampleTruthFolders(join(survey, ".."))).not.toContain(join(survey, "truth"));
  await write(truth);
  expect(await sampleTruthFolders(join(survey, ".."))).toContain(join(survey, "truth"));
});
