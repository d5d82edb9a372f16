import { readFile, stat } from "node:fs/promises";
import { InputError } from "../problem/index.js";
import {
  readMeasurementDocument,
  readSurveyDocument,
  surveySchemaName,
  type PartRecord,
} from "../record/index.js";
import { terminalText } from "./terminal-text.js";

const largestDocument = 256 * 1024 * 1024;

/** Of `measure --json`, or of the survey.json of a report. */
export async function measuredParts(file: string): Promise<readonly PartRecord[]> {
  const text = await textOf(file, largestDocument);
  const shown = terminalText(file);
  const { photos } = text.slice(0, 200).includes(`"${surveySchemaName}"`)
    ? readSurveyDocument(text, shown).measurement
    : readMeasurementDocument(text, shown);
  return photos.flatMap((photo) => photo.parts);
}

/** @throws InputError for what is no ordinary file, or larger than `largest` bytes. */
export async function textOf(file: string, largest: number): Promise<string> {
  const shown = terminalText(file);
  try {
    const found = await stat(file);
    if (!found.isFile()) throw new InputError(`${shown}: no ordinary file`);
    if (found.size > largest)
      throw new InputError(`${shown}: expected at most ${largest / 1024 / 1024} MB; is it the right file?`);
    return await readFile(file, "utf8");
  } catch (cause) {
    if (cause instanceof InputError) throw cause;
    throw new InputError(`${shown}: the file cannot be read; check its name`, { cause });
  }
}
