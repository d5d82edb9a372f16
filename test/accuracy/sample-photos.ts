import { access, readdir, readFile } from "node:fs/promises";
import { basename, dirname, join, relative } from "node:path";
import { z } from "zod";
import { readSurveyFile } from "../../src/record/index.js";
import type { Scene, SceneTruth } from "../scenes/index.js";
import type { KnownPhoto, KnownWheel } from "./known-photo.js";
import { knownScene } from "./scene-photos.js";

const pair = z.tuple([z.number(), z.number()]);

/** As far as it is used here; the whole format is described in samples/README.md. */
const sampleTruth = z.object({
  schema: z.literal("wheelsurvey/sample-truth/1"),
  photo: z.string().regex(/^[\w.-]+$/),
  width_px: z.number(),
  height_px: z.number(),
  mat: z.string().optional(),
  foot_point_mm: pair,
  parts: z.array(
    z.object({
      label: z.string(),
      kind: z.enum(["wheel", "escape-wheel", "count-wheel", "locking-cam", "pinion", "plate"]),
      centre_mm: pair,
      centre_px: pair,
      px_per_mm: z.number(),
      face_height_mm: z.number(),
      /** Every part but plates has one. */
      tip_diameter_mm: z.number().optional(),
      root_diameter_mm: z.number().optional(),
      pitch_diameter_mm: z.number().optional(),
      module_mm: z.number().optional(),
      teeth: z.object({ count: z.number(), tips: z.array(z.object({ at_px: pair })).optional() }).optional(),
      notches: z.object({ count: z.number() }).optional(),
      bore: z.object({ diameter_mm: z.number(), visible: z.boolean() }).optional(),
      eccentricity_mm: z.number().optional(),
      ovality_mm: z.number().optional(),
      lean_deg: z.number().optional(),
      arbor: z.object({ pinion: z.object({ leaves: z.number() }).optional() }).optional(),
    }),
  ),
});
type SampleTruth = z.infer<typeof sampleTruth>;

/** Truth documents below `samples`, `*` + `/truth/*.json`; none yet gives an empty list. */
export async function sampleTruthFolders(samples: string): Promise<string[]> {
  const folders: string[] = [];
  for (const name of await namesIn(samples)) {
    const folder = join(samples, name, "truth");
    if ((await namesIn(folder)).some((file) => file.endsWith(".json"))) folders.push(folder);
  }
  return folders;
}

const namesIn = (folder: string): Promise<string[]> =>
  readdir(folder).then(
    (names) => names.sort(),
    () => [],
  );

/**
 * Photographs with the truth documents of a folder: those of samples/, or of `test/scenes/make.ts`. A photograph
 * lies beside its document or in photos/ beside the folder.
 *
 * @throws Error naming the document that is of neither kind, or has no photograph.
 */
export async function photosWithTruthIn(folder: string): Promise<KnownPhoto[]> {
  const bars = await surveyBars(dirname(folder));
  const photos: KnownPhoto[] = [];
  for (const name of await namesIn(folder)) {
    if (!name.endsWith(".json") || name.endsWith("-set.json")) continue;
    const document: unknown = JSON.parse(await readFile(join(folder, name), "utf8"));
    if (isSceneDocument(document)) {
      const path = await photoFile(folder, name.replace(/\.json$/, ".jpg"));
      photos.push(knownScene(document.truth.kind, path, document));
      continue;
    }
    const truth = sampleTruth.safeParse(document);
    if (!truth.success) throw new Error(`${join(folder, name)}: ${z.prettifyError(truth.error)}`);
    const path = await photoFile(folder, truth.data.photo);
    const kind = relative(process.cwd(), dirname(folder)) || basename(dirname(folder));
    photos.push({
      kind,
      path,
      onMat: truth.data.mat !== undefined,
      bars: truth.data.mat === undefined ? {} : bars,
      wheels: wheelsOf(truth.data),
      plateCount: truth.data.parts.filter(({ kind }) => kind === "plate").length,
    });
  }
  return photos;
}

const isSceneDocument = (
  document: unknown,
): document is { readonly scene: Scene; readonly truth: SceneTruth } =>
  typeof document === "object" && document !== null && "scene" in document && "truth" in document;

export async function photoFile(folder: string, name: string): Promise<string> {
  for (const path of [join(folder, name), join(dirname(folder), "photos", name)])
    if (
      await access(path).then(
        () => true,
        () => false,
      )
    )
      return path;
  throw new Error(`${join(folder, name)}: no such photograph, nor in ${join(dirname(folder), "photos")}`);
}

/** What the survey says about its print, as its own user would have it used. */
export async function surveyBars(survey: string): Promise<KnownPhoto["bars"]> {
  const path = join(survey, "survey.yaml");
  const text = await readFile(path, "utf8").catch(() => undefined);
  if (text === undefined) return {};
  const { matAcrossMm, matAlongMm } = readSurveyFile(text, path).settings;
  return {
    ...(matAcrossMm === undefined ? {} : { matAcrossMm }),
    ...(matAlongMm === undefined ? {} : { matAlongMm }),
  };
}

export function wheelsOf(truth: SampleTruth): KnownWheel[] {
  const isInside = ([u, v]: readonly [number, number]): boolean =>
    u >= -0.5 && v >= -0.5 && u <= truth.width_px - 0.5 && v <= truth.height_px - 0.5;
  return truth.parts.flatMap((part): KnownWheel[] => {
    const tipDiameterMm = part.tip_diameter_mm;
    if (tipDiameterMm === undefined) return [];
    const tips = part.teeth?.tips ?? [];
    const toothCount = part.teeth?.count ?? part.notches?.count ?? 0;
    const roundMm = Math.PI * (part.pitch_diameter_mm ?? tipDiameterMm);
    const wheel: KnownWheel = {
      label: part.label,
      toothCount,
      isCountWheel: part.kind === "count-wheel" || part.kind === "locking-cam",
      centrePx: part.centre_px,
      centreMm: part.centre_mm,
      faceHeightMm: part.face_height_mm,
      tipDiameterMm,
      ...(part.root_diameter_mm === undefined ? {} : { rootDiameterMm: part.root_diameter_mm }),
      ...(part.module_mm === undefined ? {} : { moduleMm: part.module_mm }),
      ...(part.bore?.visible
        ? { boreDiameterMm: part.bore.diameter_mm, eccentricityMm: part.eccentricity_mm ?? 0 }
        : {}),
      ovalityMm: part.ovality_mm ?? 0,
      leanRad: ((part.lean_deg ?? 0) * Math.PI) / 180,
      pxPerMm: part.px_per_mm,
      pxPerTooth: (part.px_per_mm * roundMm) / toothCount,
      fromFootMm: Math.hypot(
        part.centre_mm[0] - truth.foot_point_mm[0],
        part.centre_mm[1] - truth.foot_point_mm[1],
      ),
      rimSeen: tips.length === 0 ? 1 : tips.filter(({ at_px }) => isInside(at_px)).length / tips.length,
      ...(part.arbor?.pinion === undefined ? {} : { pinionLeaves: part.arbor.pinion.leaves }),
    };
    return [wheel];
  });
}
