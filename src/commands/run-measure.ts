import { measureAtSetHeights, measurePhotos, measureSets } from "../pipeline/index.js";
import type { MeasurePhotoSettings } from "../pipeline/index.js";
import { UsageError } from "../problem/index.js";
import { measurementDocument } from "../record/index.js";
import type { PhotoRecord } from "../record/index.js";
import type { SetPhoto } from "../survey/index.js";
import type { CommandIo } from "./command-io.js";
import { jsonText } from "./json-text.js";
import type { MeasureOptions } from "./measure-options.js";
import { openOutputFolder } from "./output-folder.js";
import { photoPaths } from "./photo-paths.js";
import { startProgress } from "./progress.js";
import { terminalText } from "./terminal-text.js";

/**
 * Measures and prints: JSON or a table on stdout, the talk on stderr.
 * Exit code 3 if a photograph (or the set) could not be measured, 1 if the program failed over one.
 *
 * @throws UsageError before anything is measured, or when the output folder can't be written.
 */
export async function runMeasure(
  given: readonly string[],
  options: MeasureOptions,
  io: CommandIo,
): Promise<void> {
  const settings = await settingsFrom(options);
  if (!options.annotate && options.out === undefined)
    throw new UsageError("--no-annotate: expected together with --out DIR");
  const paths = await photoPaths(given);
  const folder = options.out === undefined ? undefined : await openOutputFolder(options.out, paths);
  const progress = await startProgress(paths.length, io.stderr);
  let trouble: unknown;
  let drawing = Promise.resolve();
  const draw = (record: PhotoRecord): void => {
    if (!folder || !options.annotate) return;
    // One at a time: a queue of decoded photographs would fill the memory.
    drawing = drawing
      .then(() => folder.writeAnnotated(record))
      .catch((error: unknown) => void (trouble ??= error));
  };
  const onDone = (record: PhotoRecord): void => {
    progress.step();
    draw(record);
  };
  const setPhotos = new Map<string, SetPhoto>();
  const workers = options.workers === undefined ? {} : { workers: options.workers };
  let records: PhotoRecord[];
  try {
    const onSetPhoto = (photo: SetPhoto): void => void setPhotos.set(photo.file, photo);
    records = await measurePhotos(paths, settings, { ...workers, onDone, onSetPhoto });
    await drawing;
  } finally {
    progress.stop();
  }
  // In the order in which they were given, and as often.
  const members = paths.flatMap((path) => setPhotos.get(path) ?? unseen(path, options.set));
  const sets = members.length > 0 ? measureSets(members, options.set) : [];
  const first = paths.map((path, i) => ({ path, record: records[i]!, settings }));
  records = await measureAtSetHeights(first, sets, { ...workers, onDone: draw });
  await drawing;
  const document = measurementDocument(records, sets);
  if (options.json) {
    io.stdout.write(jsonText(document));
  } else {
    const { measurementTable } = await import("./measurement-table.js");
    io.stdout.write(measurementTable(document));
  }
  await folder?.writeDocument(document);
  // A full disk must not cost the measurements, so this comes after them.
  if (trouble !== undefined) throw trouble as Error;
  for (const remark of unusedLabels(records, options)) io.stderr.write(remark);
  const failures = records.filter(({ parts }) => parts.length === 0).length;
  if (records.length > 1 || failures > 0)
    io.stderr.write(`${records.length - failures} of ${records.length} photographs measured\n`);
  if (records.some(({ problems }) => problems.some(({ code }) => code === "unexpected"))) io.setExitCode(1);
  else io.setExitCode(failures > 0 || sets.some(({ verdict }) => verdict === "cannot tell") ? 3 : 0);
}

async function settingsFrom(options: MeasureOptions): Promise<MeasurePhotoSettings> {
  const { matAcross, matAlong, mat, scale, pxPerMm, faceHeight, set } = options;
  if (scale && pxPerMm !== undefined)
    throw new UsageError("--scale and --px-per-mm: expected one of them, received both; leave one out");
  if (mat !== undefined && (matAcross ?? matAlong) !== undefined)
    throw new UsageError(
      "--mat and --mat-across or --mat-along: expected a remembered mat or its readings, received both; leave one out",
    );
  if (
    matAcross !== undefined &&
    matAlong !== undefined &&
    Math.max(matAcross, matAlong) > 200 !== Math.min(matAcross, matAlong) > 200
  )
    throw new UsageError(
      `--mat-across ${matAcross} and --mat-along ${matAlong}: expected two bars of one sheet, about 150 mm both ` +
        "(A4, US Letter) or 250 mm both (A3); measure both again",
    );
  const remembered = mat === undefined ? undefined : await readMat(mat);
  return {
    ...(matAcross === undefined ? {} : { matAcrossMm: matAcross }),
    ...(matAlong === undefined ? {} : { matAlongMm: matAlong }),
    ...(remembered && {
      matAcrossMm: remembered.acrossMm,
      matAlongMm: remembered.alongMm,
      matPaper: remembered.paper,
    }),
    ...(scale && { scale }),
    ...(pxPerMm === undefined ? {} : { pxPerMm }),
    ...(faceHeight && { faceHeights: faceHeight }),
    ...(set === undefined ? {} : { set }),
    ...(options.model ? {} : { model: false }),
  };
}

/** A height for a label that no part has is most likely a slip of the pen. */
const unusedLabels = (records: readonly PhotoRecord[], { faceHeight = [] }: MeasureOptions): string[] => {
  const seen = new Set(records.flatMap(({ parts }) => parts.map(({ label }) => label)));
  return faceHeight
    .filter(({ label }) => label !== undefined && !seen.has(label))
    .map(
      ({ label }) =>
        `--face-height ${terminalText(label!)}=...: no part has this label; the height was not used\n`,
    );
};

async function readMat(name: string) {
  const { readRememberedMat } = await import("../mat/index.js");
  return readRememberedMat(name);
}

/** A photograph that could not be measured at all still belongs to the set that was named. */
const unseen = (file: string, set: MeasureOptions["set"]): SetPhoto[] =>
  set === undefined ? [] : [{ file, wheels: [], cards: [], onMat: true }];
