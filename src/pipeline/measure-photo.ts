import type { Paper } from "../mat/index.js";
import type { FaceHeights } from "../parts/index.js";
import { readPhoto } from "../photo/index.js";
import type { Photo } from "../photo/index.js";
import type { Problem } from "../problem/index.js";
import { recordPhoto, recordSettings, recordUnreadPhoto } from "../record/index.js";
import type { MeasureSettings, PhotoRecord } from "../record/index.js";
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
  try {
    const photo = await readPhoto(path);
    if (!photo.ok) return recordUnreadPhoto({ file: path }, photo.problem, settings);
    return await measure(photo.value, settings);
  } catch (error) {
    return unexpectedRecord(path, settings, error);
  }
}

async function measure(photo: Photo, settings: MeasurePhotoSettings): Promise<PhotoRecord> {
  const { view, problems } = await viewOf(photo, settings);
  const { findAndMeasureParts } = await import("../parts/index.js");
  const found = await findAndMeasureParts(photo, view, { heights: heightsFrom(settings) });
  return recordPhoto(photo, view, found.parts, [...problems, ...found.problems], settings);
}

function heightsFrom({ faceHeights = [] }: MeasurePhotoSettings): FaceHeights {
  const everyPartMm = faceHeights.find(({ label }) => label === undefined)?.heightMm;
  const byLabel = faceHeights.flatMap(({ label, heightMm }) =>
    label === undefined ? [] : [[label, heightMm] as const],
  );
  return { ...(everyPartMm === undefined ? {} : { everyPartMm }), byLabelMm: Object.fromEntries(byLabel) };
}

async function viewOf(
  photo: Photo,
  settings: MeasurePhotoSettings,
): Promise<{ readonly view: View; readonly problems: readonly Problem[] }> {
  const { solveView } = await import("../view/index.js");
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
