import { readFile, stat } from "node:fs/promises";
import { isAbsolute, join, relative, resolve } from "node:path";
import type { MeasurePhotoSettings } from "../pipeline/index.js";
import { InputError, UsageError } from "../problem/index.js";
import {
  correctionsFileName,
  emptyStatement,
  noCorrections,
  readCorrectionsFile,
  readSurveyFile,
  type CorrectionsRecord,
  type PhotoRecord,
  type SurveyFile,
} from "../record/index.js";
import { photoPaths } from "./photo-paths.js";
import type { SurveyTrains } from "./report-trains.js";
import { terminalText } from "./terminal-text.js";

/** A survey folder as it was found: its photographs, and what was said. */
export interface SurveyFolder {
  readonly folder: string;
  /** Paths of the photographs, in the order of their names. */
  readonly photos: readonly string[];
  readonly file: SurveyFile;
  readonly settings: MeasurePhotoSettings;
  /** What people changed by hand on the page. */
  readonly corrections: CorrectionsRecord;
}

const surveyNames = ["survey.yaml", "survey.yml"];
const largestText = 1024 * 1024;

/**
 * Reads a survey folder.
 *
 * @throws UsageError if it is no folder or has no photographs, InputError if survey.yaml cannot be understood.
 */
export async function readSurveyFolder(folder: string): Promise<SurveyFolder> {
  const shown = terminalText(folder);
  const found = await stat(folder).catch(() => undefined);
  if (!found?.isDirectory())
    throw new UsageError(
      `report: expected a survey folder, received ${shown}; make one with a folder photos/ in it`,
    );
  const photoFolder = join(folder, "photos");
  const photosFound = await stat(photoFolder).catch(() => undefined);
  if (!photosFound?.isDirectory())
    throw new UsageError(`${shown}: expected a folder photos/ in it; put the photographs there`);
  const photos = await photoPaths([photoFolder]);
  const file = await surveyFileOf(folder);
  const settings =
    file.mat === undefined ? file.settings : { ...file.settings, ...(await matReadings(file.mat)) };
  return { folder, photos, file, settings, corrections: await correctionsOf(folder) };
}

async function correctionsOf(folder: string): Promise<CorrectionsRecord> {
  const path = join(folder, correctionsFileName);
  const found = await stat(path).catch(() => undefined);
  return found ? readCorrectionsFile(await textOf(path), terminalText(path)) : noCorrections;
}

async function surveyFileOf(folder: string): Promise<SurveyFile> {
  for (const name of surveyNames) {
    const path = join(folder, name);
    const found = await stat(path).catch(() => undefined);
    if (found) return readSurveyFile(await textOf(path), terminalText(path));
  }
  return { statement: emptyStatement, settings: {} };
}

async function textOf(path: string): Promise<string> {
  try {
    const found = await stat(path);
    if (!found.isFile()) throw new InputError(`${terminalText(path)}: no ordinary file`);
    if (found.size > largestText)
      throw new InputError(`${terminalText(path)}: over 1 MB; is it the right file?`);
    return await readFile(path, "utf8");
  } catch (cause) {
    if (cause instanceof InputError) throw cause;
    throw new InputError(`${terminalText(path)}: the file cannot be read; check its name`, { cause });
  }
}

async function matReadings(
  name: string,
): Promise<Pick<MeasurePhotoSettings, "matAcrossMm" | "matAlongMm" | "matPaper">> {
  const { readRememberedMat } = await import("../mat/index.js");
  const { acrossMm, alongMm, paper } = await readRememberedMat(name);
  return { matAcrossMm: acrossMm, matAlongMm: alongMm, matPaper: paper };
}

/**
 * What the movement file says together with the counts that were measured; undefined without one.
 *
 * @throws InputError naming every line that is wrong, or if the file lies outside the folder.
 */
export async function trainsOf(
  { folder, file: { trains } }: SurveyFolder,
  photos: readonly PhotoRecord[],
  options: { readonly inches?: boolean } = {},
): Promise<SurveyTrains | undefined> {
  if (trains === undefined) return undefined;
  const path = resolve(folder, trains);
  const inside = relative(folder, path);
  if (isAbsolute(trains) || inside.startsWith("..") || isAbsolute(inside))
    throw new InputError(`trains: ${terminalText(trains)}: expected a file in the survey folder`);
  const [{ mistakeText, readMovement }, { evaluateTrains }] = await Promise.all([
    import("../trains/index.js"),
    import("./report-trains.js"),
  ]);
  const reading = readMovement(await textOf(path));
  if (!reading.ok) {
    const lines = reading.mistakes
      .slice(0, 10)
      .map((mistake) => `${terminalText(path)}, ${mistakeText(mistake)}`);
    throw new InputError(lines.join("\n"));
  }
  return evaluateTrains(reading.value, photos, options);
}
