import { lstat, mkdir, readFile, realpath } from "node:fs/promises";
import { basename, extname, join, resolve } from "node:path";
import { InputError, UsageError } from "../problem/index.js";
import { measurementSchemaName } from "../record/index.js";
import type { MeasurementDocument, PhotoRecord } from "../record/index.js";
import { jsonText } from "./json-text.js";
import { annotatedEnding } from "./photo-paths.js";
import { terminalText } from "./terminal-text.js";

const documentName = "measurements.json";

/** The folder of `measure --out`. Whatever lay there before and is not ours stays as it was. */
export interface OutputFolder {
  /** Writes the photograph with its marks; the name is made from the photograph's. Nothing, if nothing was measured. */
  writeAnnotated(record: PhotoRecord): Promise<void>;
  writeDocument(document: MeasurementDocument): Promise<void>;
}

/**
 * Opens the folder, and makes it if need be.
 *
 * @param photos everything that is measured: none of it is ever written to, wherever it lies.
 * @throws UsageError if it can't be used, or holds a measurements.json of something else.
 */
export async function openOutputFolder(folder: string, photos: readonly string[]): Promise<OutputFolder> {
  const shown = terminalText(folder);
  try {
    await mkdir(folder, { recursive: true });
  } catch (cause) {
    throw new UsageError(`--out ${shown}: the folder cannot be made; name one that you may write to`, {
      cause,
    });
  }
  const document = join(folder, documentName);
  const isOurs = await holdsOurDocument(document, shown);
  const originals = new Set(await Promise.all(photos.map(realpathOf)));
  const takenBy = new Map<string, string>();
  const { default: writeFileAtomic } = await import("write-file-atomic");
  const write = async (path: string, data: string | Buffer): Promise<void> => {
    try {
      await writeFileAtomic(path, data);
    } catch (cause) {
      throw new UsageError(
        `--out ${terminalText(path)}: cannot be written; is the disk full or the folder locked?`,
        {
          cause,
        },
      );
    }
  };

  /** A free name, or the one that this photograph got before. */
  const nameFor = async (record: PhotoRecord): Promise<string> => {
    const original = await realpathOf(record.file);
    const stem = safeStem(record.file);
    for (let n = 1; ; n++) {
      const name = `${n === 1 ? stem : `${stem}-${n}`}${annotatedEnding}`;
      // Compared without case: some file systems take both for one.
      const owner = takenBy.get(name.toLowerCase());
      if (owner !== undefined && owner !== original) continue;
      if (owner === undefined && !(await isFree(join(folder, name), originals, isOurs))) continue;
      takenBy.set(name.toLowerCase(), original);
      return name;
    }
  };

  return {
    writeAnnotated: async (record) => {
      if (record.parts.length === 0) return;
      const [{ readPhoto }, { drawAnnotatedPhoto }] = await Promise.all([
        import("../photo/index.js"),
        import("../report/index.js"),
      ]);
      const photo = await readPhoto(record.file);
      if (!photo.ok || photo.value.sha256 !== record.sha256)
        throw new InputError(
          `${terminalText(record.file)}: the file changed while it was measured; measure it again`,
        );
      const picture = await drawAnnotatedPhoto(photo.value, record);
      await write(join(folder, await nameFor(record)), picture);
    },
    writeDocument: (content) => write(document, jsonText(content)),
  };
}

/** True if a former run wrote here. */
async function holdsOurDocument(path: string, shownFolder: string): Promise<boolean> {
  const refuse = (what: string): never => {
    throw new UsageError(`--out ${shownFolder}: its ${documentName} is ${what}; name another folder`);
  };
  const found = await lstat(path).catch(() => undefined);
  if (!found) return false;
  if (!found.isFile()) return refuse("no ordinary file");
  const head = (await readFile(path, "utf8").catch(() => "")).slice(0, 200);
  return head.includes(`"${measurementSchemaName}"`) || refuse("not of this program");
}

/** Where a file really lies; for a missing one, where it would. */
const realpathOf = (path: string): Promise<string> => realpath(path).catch(() => resolve(path));

/** May be written: not there yet, or a copy of a former run. Never an original, never through a link. */
async function isFree(path: string, originals: ReadonlySet<string>, isOurs: boolean): Promise<boolean> {
  const found = await lstat(path).catch(() => undefined);
  if (!found) return true;
  return isOurs && found.isFile() && found.nlink === 1 && !originals.has(await realpathOf(path));
}

const reservedOnWindows = /^(con|prn|aux|nul|com\d|lpt\d)$/i;

/** The photograph's name without its ending, fit for every file system: letters, digits, spaces, ". _ -". */
export function safeStem(file: string): string {
  const name = basename(file);
  const stem = name
    .slice(0, name.length - extname(name).length)
    .normalize("NFC")
    .replace(/[^\p{L}\p{M}\p{N} ._-]/gu, "_")
    .replace(/^[\s.-]+|[\s.]+$/g, "");
  // File systems count bytes, 255 at most; letters take up to four.
  const short = [...stem].slice(0, 50).join("").trim();
  return short === "" || reservedOnWindows.test(short) ? `photo${short && `-${short}`}` : short;
}
