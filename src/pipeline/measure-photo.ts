import type { Paper } from "../mat/index.js";
import type { FaceHeights } from "../parts/index.js";
import { readPhoto } from "../photo/index.js";
import type { Photo } from "../photo/index.js";
import type { Problem } from "../problem/index.js";
import { recordPhoto, recordSettings, recordUnreadPhoto } from "../record/index.js";
import type { MeasureSettings, PhotoRecord } from "../record/index.js";
import type { SetPhoto } from "../survey/index.js";
import { networksForPhoto } from "./networks.js";
import type { View, ViewOptions } from "../view/index.js";

export interface MeasurePhotoSettings extends MeasureSettings {
  /** Paper of the mat that the readings `matAcrossMm`, `matAlongMm` were taken on; default: any. */
  readonly matPaper?: Paper;
}

/**
 * Measures one photograph. Never rejects: what the photograph cannot give is in the record's problems, and so is
 * an error of this program (code "unexpected").
 *
 * @param path of the photograph; the record's `file` repeats it unchanged.
 */
export async function measurePhoto(path: string, settings: MeasurePhotoSettings = {}): Promise<PhotoRecord> {
  return (await measureForSets(path, settings)).record;
}

export interface MeasuredPhoto {
  readonly record: PhotoRecord;
  /** What sets of photographs are evaluated by; absent where the photograph belongs to none. */
  readonly setPhoto?: SetPhoto;
}

/** The same, with what the photograph gives for its set: by `settings.set`, by its cards or by its folder. */
export async function measureForSets(
  path: string,
  settings: MeasurePhotoSettings = {},
): Promise<MeasuredPhoto> {
  try {
    // The decoder works on a thread of its own; the rest of the program loads meanwhile.
    const [photo, { solveView, findAndMeasureParts, readWheelMarks, belongsToSet }] = await Promise.all([
      readPhoto(path),
      import("./measuring-steps.js"),
    ]);
    if (!photo.ok) return { record: recordUnreadPhoto({ file: path }, photo.problem, settings) };
    const { view, problems } = await viewOf(photo.value, settings, solveView);
    const networks = settings.model === false ? undefined : networksForPhoto();
    const heights = heightsFrom(settings);
    const found = await findAndMeasureParts(photo.value, view, {
      heights,
      ...(networks && networks.ask),
    });
    const unasked = networks?.problem();
    const all = [...problems, ...found.problems, ...(unasked ? [unasked] : [])];
    const record = recordPhoto(photo.value, view, found.parts, all, settings);
    const cards = view.tags.map(({ label }) => label);
    if (settings.set === undefined && !belongsToSet(path, cards)) return { record };
    const wheels = found.parts
      .map((part) => readWheelMarks(photo.value, view, part, heights))
      .filter((marks) => marks !== undefined);
    const { sha256 } = photo.value;
    const leaning = found.parts.filter(({ tiltRad }) => tiltRad !== undefined).length;
    return {
      record,
      setPhoto: { file: path, sha256, wheels, cards, onMat: view.source === "mat", leaning },
    };
  } catch (error) {
    return { record: unexpectedRecord(path, settings, error) };
  }
}

function heightsFrom({ faceHeights = [] }: MeasurePhotoSettings): FaceHeights {
  const every = faceHeights.find(({ label }) => label === undefined);
  const labelled = faceHeights.flatMap(({ label, heightMm, uMm }) =>
    label === undefined ? [] : [{ label, heightMm, uMm }],
  );
  return {
    ...(every === undefined ? {} : { everyPartMm: every.heightMm }),
    ...(every?.uMm === undefined ? {} : { uEveryPartMm: every.uMm }),
    byLabelMm: Object.fromEntries(labelled.map(({ label, heightMm }) => [label, heightMm])),
    uByLabelMm: Object.fromEntries(
      labelled.flatMap(({ label, uMm }) => (uMm === undefined ? [] : [[label, uMm] as const])),
    ),
  };
}

async function viewOf(
  photo: Photo,
  settings: MeasurePhotoSettings,
  solveView: (photo: Photo, options: ViewOptions) => Promise<View>,
): Promise<{ readonly view: View; readonly problems: readonly Problem[] }> {
  const { matAcrossMm, matAlongMm, scale, pxPerMm, matPaper } = settings;
  const readings = {
    ...(matAcrossMm === undefined ? {} : { matAcrossMm }),
    ...(matAlongMm === undefined ? {} : { matAlongMm }),
  };
  const given: ViewOptions = {
    ...(scale && {
      scale: {
        x1: scale.fromPx[0],
        y1: scale.fromPx[1],
        x2: scale.toPx[0],
        y2: scale.toPx[1],
        mm: scale.lengthMm,
      },
    }),
    ...(pxPerMm === undefined ? {} : { pxPerMm }),
  };
  const view = await solveView(photo, { ...readings, ...given });
  const seen = view.mat?.paper;
  if (matPaper === undefined || seen === undefined || seen === matPaper) return { view, problems: [] };
  // Readings of another sheet of paper say nothing about this one.
  const problem: Problem = {
    code: "mat-other-paper",
    text:
      `the mat in the picture is ${paperWords[seen]}, but the readings were taken on ${paperWords[matPaper]}; ` +
      "they were left out",
    advice: "name the mat that was photographed, or measure its check bars",
  };
  return { view: await solveView(photo, given), problems: [problem] };
}

const paperWords: Readonly<Record<Paper, string>> = { a4: "A4", letter: "US Letter", a3: "A3" };

/** The record of a photograph over which this program itself failed. */
export function unexpectedRecord(file: string, settings: MeasurePhotoSettings, error: unknown): PhotoRecord {
  return {
    file,
    scale: { source: "none" },
    parts: [],
    problems: [
      {
        code: "unexpected",
        text: `this program failed: ${error instanceof Error ? error.message : String(error)}`,
        advice:
          "this is an error of the program, not of the photograph; please report it with the photograph",
      },
    ],
    settings: recordSettings(settings),
  };
}
