import { constants } from "node:fs";
import { access, readFile, stat } from "node:fs/promises";
import { join, relative, resolve, sep } from "node:path";
import { measureAtSetHeights, measurePhotos } from "../pipeline/index.js";
import { InputError, UsageError } from "../problem/index.js";
import {
  correctedSurvey,
  correctionOf,
  correctPhoto,
  measurementDocument,
  settingsWithCorrection,
  software,
  surveySchemaName,
  type PhotoRecord,
  type SurveyDocument,
} from "../record/index.js";
import { readPhoto } from "../photo/index.js";
import { prepareReport, renderHtml, renderPdf, surveyCsv, type PrivateData } from "../report/index.js";
import type { SetPhoto } from "../survey/index.js";
import type { CommandIo } from "./command-io.js";
import { jsonText } from "./json-text.js";
import { setsOfSurvey } from "./report-sets.js";
import { startProgress } from "./progress.js";
import { openMeasurementCache, sha256OfFile, type MeasurementCache } from "./report-cache.js";
import { checkSumList } from "./report-check-sums.js";
import { reportFiles } from "./report-files.js";
import { readSurveyFolder, trainsOf, type SurveyFolder } from "./report-survey.js";
import { whileAlone } from "./report-turn.js";
import { makeFolder, makeFolderWithin, reasonOf, removePartials, writeWhole } from "./report-write.js";
import { terminalText } from "./terminal-text.js";

export interface ReportOptions {
  readonly out?: string;
  readonly paper?: "a4" | "letter";
  readonly inches?: boolean;
  readonly privateData?: boolean;
  readonly fresh?: boolean;
  readonly workers?: number;
}

/**
 * Measures what has not been measured yet and writes the report. Killed at any moment, it leaves whole files
 * behind, and the next call goes on where it stopped.
 *
 * Exit code 3 if a photograph gave no part, 1 if the program failed over one.
 *
 * @throws UsageError, InputError if the folder or its files can't be used.
 */
export async function runReport(
  folder: string,
  options: ReportOptions,
  io: CommandIo,
  now = new Date(),
): Promise<void> {
  const survey = await readSurveyFolder(folder);
  const out = options.out ?? join(folder, "report");
  await openReportFolder(out);
  const setPhotos = new Map<string, SetPhoto>();
  const { corrections } = survey;
  const first = (await measureFolder(survey, options, io, setPhotos)).map((record, i) => {
    const settings = settingsWithCorrection(survey.settings, correctionOf(corrections, record.sha256));
    return { path: survey.photos[i]!, record, settings };
  });
  const sets = await setsOfSurvey(
    first.filter(({ record }) => !correctionOf(corrections, record.sha256)?.left_out),
    setPhotos,
    options.workers,
    (settings) => openResults({ ...survey, settings }, options),
  );
  const photos = await measureAtSetHeights(first, sets, {
    ...(options.workers === undefined ? {} : { workers: options.workers }),
    keptFor: async (settings) => {
      const cache = await openResults({ ...survey, settings }, options);
      return options.fresh ? { ...cache, find: () => Promise.resolve(undefined) } : cache;
    },
  });
  const inches = options.inches ?? survey.file.inches ?? false;
  const corrected = photos.map((photo) => correctPhoto(photo, correctionOf(corrections, photo.sha256)));
  const trains = await trainsOf(survey, corrected, { inches });
  const document: SurveyDocument = {
    schema: surveySchemaName,
    made_at: now.toISOString(),
    software: software(),
    statement: survey.file.statement,
    measurement: measurementDocument(photos, sets),
    ...(corrections.photos.length > 0 ? { corrections } : {}),
    ...(trains ? { trains: trains.result } : {}),
  };
  // Measurements stay in survey.json as they were made; what is shown has the changes by hand put over them.
  const shown = correctedSurvey(document);
  const { content, pictures, fontFaces } = await prepareReport(
    shown,
    (i) => photoAgain(survey.photos[i]!, photos[i]!),
    {
      inches,
      ...(trains ? { papers: trains.papers } : {}),
      ...(options.privateData ? { privateData: await privateDataOf(survey.photos) } : {}),
    },
  );
  const softwareText = `${document.software.name} ${document.software.version}`;
  const paper = options.paper ?? survey.file.paper ?? "a4";
  // survey.json first: by it a later call knows the folder for its own.
  const files: [string, string | Uint8Array][] = [
    [reportFiles.survey, jsonText(document)],
    [reportFiles.csv, surveyCsv(shown)],
    [reportFiles.html, renderHtml(content, pictures, { paper, fontFaces })],
    [reportFiles.pdf, await renderPdf(content, pictures, { paper, madeAt: now, software: softwareText })],
  ];
  await whileAlone(out, async () => {
    for (const [name, data] of files) await writeWhole(join(out, name), data);
    await writeWhole(join(out, reportFiles.checkSums), checkSumList(files, out, survey.photos, photos));
  });
  io.stdout.write(`${join(out, reportFiles.html)}\n${join(out, reportFiles.pdf)}\n`);
  const failures = photos.filter(({ parts }) => parts.length === 0).length;
  if (failures > 0)
    io.stderr.write(`${failures} of ${photos.length} photographs gave no part; the report says why\n`);
  if (photos.some(({ problems }) => problems.some(({ code }) => code === "unexpected"))) io.setExitCode(1);
  else io.setExitCode(failures > 0 ? 3 : 0);
}

async function privateDataOf(paths: readonly string[]): Promise<PrivateData[]> {
  const { readPrivateData } = await import("./report-private.js");
  return Promise.all(paths.map(readPrivateData));
}

/** Makes the folder, or makes sure that what lies in it is ours. */
async function openReportFolder(out: string): Promise<void> {
  try {
    await makeFolder(out);
  } catch (cause) {
    throw new UsageError(`${terminalText(out)}: the folder cannot be made: ${reasonOf(cause)}`, { cause });
  }
  await removePartials(out);
  const exists = async (name: string): Promise<boolean> =>
    (await stat(join(out, name)).catch(() => undefined)) !== undefined;
  if (await exists(reportFiles.survey)) {
    const head = (await readFile(join(out, reportFiles.survey), "utf8").catch(() => "")).slice(0, 200);
    if (head.includes(`"${surveySchemaName}"`)) return;
    throw new UsageError(
      `${terminalText(out)}: its ${reportFiles.survey} is not of this program; name another folder with --out`,
    );
  }
  for (const name of [reportFiles.html, reportFiles.csv, reportFiles.pdf]) {
    if (await exists(name))
      throw new UsageError(
        `${terminalText(out)}: holds a ${name} that is not of this program; name another folder with --out`,
      );
  }
}

/** Records of all photographs, measured now or taken from an earlier call. */
async function measureFolder(
  survey: SurveyFolder,
  options: ReportOptions,
  io: CommandIo,
  setPhotos: Map<string, SetPhoto>,
): Promise<PhotoRecord[]> {
  const { folder, photos, settings, corrections } = survey;
  const nameOf = (path: string): string => relative(folder, path).split(sep).join("/");
  const cache = await openResults(survey, options);
  const records = new Array<PhotoRecord | undefined>(photos.length);
  const todo: number[] = [];
  /** With heights of their own, stated by hand for this photograph. */
  const apart: number[] = [];
  const sums: (string | undefined)[] = [];
  for (const [i, path] of photos.entries()) {
    const sha256 = await sha256OfFile(path);
    sums.push(sha256);
    if (correctionOf(corrections, sha256)?.face_heights) {
      apart.push(i);
      continue;
    }
    if (sha256 !== undefined && !options.fresh) records[i] = await cache.find(sha256, nameOf(path));
    if (!records[i]) todo.push(i);
  }
  const known = photos.length - apart.length - todo.length;
  if (known > 0)
    io.stderr.write(`${known} of ${photos.length} photographs are unchanged and were not measured again\n`);
  const progress = await startProgress(todo.length, io.stderr);
  let writing = Promise.resolve();
  let trouble: unknown;
  const onDone = (record: PhotoRecord, k: number): void => {
    const i = todo[k]!;
    const sha256 = sums[i];
    // A file that is no photograph is still a file, with its check-sum.
    const named = { ...(sha256 === undefined ? {} : { sha256 }), ...record, file: nameOf(photos[i]!) };
    records[i] = named;
    progress.step();
    writing = writing.then(() => cache.keep(named)).catch((error: unknown) => void (trouble ??= error));
  };
  try {
    const workers = options.workers === undefined ? {} : { workers: options.workers };
    await measurePhotos(
      todo.map((i) => photos[i]!),
      settings,
      { ...workers, onDone, onSetPhoto: (photo) => void setPhotos.set(photo.file, photo) },
    );
    await writing;
  } finally {
    progress.stop();
  }
  if (trouble !== undefined) throw trouble as Error;
  for (const i of apart) records[i] = await measureApart(survey, photos[i]!, sums[i]!, options, nameOf);
  return records.map((record) => record!);
}

/** A photograph for which heights were stated by hand: with its own settings, kept apart by them. */
async function measureApart(
  survey: SurveyFolder,
  path: string,
  sha256: string,
  options: ReportOptions,
  nameOf: (path: string) => string,
): Promise<PhotoRecord> {
  const settings = settingsWithCorrection(survey.settings, correctionOf(survey.corrections, sha256));
  const cache = await openResults({ ...survey, settings }, options);
  const kept = options.fresh ? undefined : await cache.find(sha256, nameOf(path));
  if (kept) return kept;
  const [measured] = await measurePhotos([path], settings);
  const record = { sha256, ...measured!, file: nameOf(path) };
  await cache.keep(record);
  return record;
}

/**
 * Measurements are kept in the survey folder; where that may not be written to (a disc, somebody else's folder),
 * with the report.
 */
async function openResults(
  { folder, settings }: SurveyFolder,
  { out }: ReportOptions,
): Promise<MeasurementCache> {
  let results = join(folder, "results");
  // It was there when the run began; whoever has moved it does not want a new one in its place.
  await access(folder).catch((cause: unknown) => {
    throw new InputError(`${terminalText(folder)}: ${reasonOf(cause)}`, { cause });
  });
  try {
    await makeFolderWithin(results);
    await access(results, constants.W_OK);
  } catch (cause) {
    const words = `${terminalText(results)}: cannot be written to: ${reasonOf(cause)}`;
    if (out === undefined) throw new UsageError(words, { cause });
    results = join(out, "results");
  }
  await removePartials(results);
  try {
    return await openMeasurementCache(results, settings);
  } catch (cause) {
    throw new UsageError(`${terminalText(results)}: the folder cannot be made: ${reasonOf(cause)}`, {
      cause,
    });
  }
}

/** The pixels once more, for the pictures: of the very file that was measured. */
async function photoAgain(path: string, record: PhotoRecord) {
  const photo = await readPhoto(resolve(path));
  if (photo.ok && photo.value.sha256 === record.sha256) return photo.value;
  throw new InputError(`${terminalText(path)}: the file changed while the report was made; call again`);
}
