import { readFile, stat } from "node:fs/promises";
import { basename, dirname, join, resolve } from "node:path";
import { measurePhotos } from "../pipeline/index.js";
import { InputError, UsageError } from "../problem/index.js";
import {
  readSurveyDocument,
  settingsFromRecord,
  type PhotoRecord,
  type SurveyDocument,
} from "../record/index.js";
import { compareRecords } from "../report/index.js";
import type { CommandIo } from "./command-io.js";
import { startProgress } from "./progress.js";
import { sha256OfFile } from "./report-cache.js";
import { readCheckSumLine } from "./report-check-sums.js";
import { reportFiles } from "./report-files.js";
import { terminalText } from "./terminal-text.js";

export interface VerifyOptions {
  readonly measure?: boolean;
  readonly workers?: number;
}

interface Entry {
  readonly name: string;
  readonly path: string;
  readonly sha256: string;
  readonly found: string | undefined;
}

/**
 * Says for every file of a report whether it is as it was. Exit code 0 if all are (and, with `measure`, nothing
 * differs beyond uncertainty), else 3.
 *
 * @throws UsageError if the folder holds no report, InputError if its lists cannot be read.
 */
export async function runVerify(folder: string, options: VerifyOptions, io: CommandIo): Promise<void> {
  const entries = await readEntries(folder);
  const survey = await readSurvey(folder);
  const states = entries.map((entry) => ({ entry, state: stateOf(entry) }));
  for (const { entry, state } of states) io.stdout.write(`${state.padEnd(10)} ${terminalText(entry.name)}\n`);
  // The list itself could have been rewritten to fit: the report's own record of the photographs must agree.
  const unlisted = unlistedPhotos(survey, entries);
  for (const file of unlisted) io.stdout.write(`not listed ${terminalText(file)}\n`);
  const wrong = states.filter(({ state }) => state !== "unchanged").length + unlisted.length;
  io.stderr.write(
    wrong === 0
      ? `All ${entries.length} files match the report.\n`
      : `${wrong} of ${entries.length + unlisted.length} files do not match the report.\n`,
  );
  const differences = options.measure ? await measureAgain(survey, entries, options, io) : 0;
  io.setExitCode(wrong > 0 || differences > 0 ? 3 : 0);
}

const stateOf = ({ found, sha256 }: Entry): "unchanged" | "changed" | "missing" =>
  found === undefined ? "missing" : found === sha256 ? "unchanged" : "changed";

async function readEntries(folder: string): Promise<Entry[]> {
  const path = join(folder, reportFiles.checkSums);
  const shown = terminalText(path);
  const text = await readFile(path, "utf8").catch((cause: unknown) => {
    throw new UsageError(`${shown}: cannot be read; expected the folder that "report" wrote`, { cause });
  });
  const lines = text.split("\n").filter((line) => line !== "");
  if (lines.length === 0) throw new InputError(`${shown}: empty; make the report again`);
  return Promise.all(
    lines.map(async (line, i) => {
      const entry = readCheckSumLine(line);
      if (!entry) throw new InputError(`${shown}, line ${i + 1}: expected a check-sum and a file name`);
      const file = resolve(folder, entry.name);
      const isFile = (await stat(file).catch(() => undefined))?.isFile() ?? false;
      return { ...entry, path: file, found: isFile ? await sha256OfFile(file) : undefined };
    }),
  );
}

async function readSurvey(folder: string): Promise<SurveyDocument> {
  const path = join(folder, reportFiles.survey);
  const text = await readFile(path, "utf8").catch((cause: unknown) => {
    throw new UsageError(`${terminalText(path)}: cannot be read; expected the folder that "report" wrote`, {
      cause,
    });
  });
  return readSurveyDocument(text, terminalText(path));
}

const unlistedPhotos = ({ measurement: { photos } }: SurveyDocument, entries: readonly Entry[]): string[] => {
  const listed = new Set(entries.map(({ sha256 }) => sha256));
  return photos.filter(({ sha256 }) => sha256 !== undefined && !listed.has(sha256)).map(({ file }) => file);
};

/** @returns how many photographs differ beyond uncertainty. */
async function measureAgain(
  { measurement: { photos } }: SurveyDocument,
  entries: readonly Entry[],
  options: VerifyOptions,
  io: CommandIo,
): Promise<number> {
  // Only an unchanged photograph can tell whether the measurement is the same.
  const pathOf = new Map(
    entries.filter((entry) => stateOf(entry) === "unchanged").map((entry) => [entry.sha256, entry.path]),
  );
  const todo = photos.flatMap((before) => {
    const path = before.sha256 === undefined ? undefined : pathOf.get(before.sha256);
    return path === undefined ? [] : [{ before, path }];
  });
  // Photographs of one survey share their settings as a rule: measured together, several at a time.
  const groups = new Map<string, { before: PhotoRecord; path: string }[]>();
  for (const item of todo) {
    const key = JSON.stringify(item.before.settings ?? {});
    groups.set(key, [...(groups.get(key) ?? []), item]);
  }
  const progress = await startProgress(todo.length, io.stderr);
  let differing = 0;
  const lines: string[] = [];
  try {
    for (const group of groups.values()) {
      const settings = settingsFromRecord(group[0]!.before.settings ?? {});
      const workers = options.workers === undefined ? {} : { workers: options.workers };
      const records = await measurePhotos(
        group.map(({ path }) => path),
        settings,
        { ...workers, onDone: () => progress.step() },
      );
      group.forEach(({ before, path }, i) => {
        const differences = compareRecords(before, records[i]!);
        if (differences.length > 0) differing++;
        for (const { part, text } of differences)
          lines.push(
            `differs    ${terminalText(shortName(path))}, ${terminalText(part)}: ${terminalText(text)}\n`,
          );
      });
    }
  } finally {
    progress.stop();
  }
  for (const line of lines) io.stdout.write(line);
  io.stderr.write(
    differing === 0
      ? `${todo.length} photographs measured again: nothing differs beyond uncertainty.\n`
      : `${todo.length} photographs measured again: ${differing} differ beyond uncertainty.\n`,
  );
  return differing;
}

const shortName = (path: string): string => join(basename(dirname(path)), basename(path));
