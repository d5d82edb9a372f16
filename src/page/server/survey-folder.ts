import { createHash } from "node:crypto";
import { constants, type Dirent } from "node:fs";
import { access, lstat, mkdir, open, readdir, realpath, rm } from "node:fs/promises";
import { extname, join } from "node:path";
import { InputError, UsageError } from "../../problem/index.js";
import { isPhotoFolder } from "../../survey/index.js";
import type { FolderServices } from "./folder-services.js";
import { shownName } from "./names.js";

const largestText = 4 * 1024 * 1024;
const pictureEndings = new Set([".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".heic", ".heif"]);
const byName = new Intl.Collator("en", { numeric: true });

/** A photograph in photos/. */
export interface PhotoFile {
  /** "one.jpg"; in a folder of a set "turn-T2/one.jpg". */
  readonly name: string;
  readonly path: string;
  /** Changes when the file does. */
  readonly stamp: string;
}

/**
 * A survey folder on the disk. Everything is read and written by name within it; links that lead out of it are not
 * followed, whoever put them there.
 */
export class SurveyFolder {
  private constructor(
    readonly path: string,
    private readonly services: FolderServices,
  ) {}

  /** Opens the folder, and makes what is missing. @throws UsageError if it cannot be used. */
  static async open(path: string, services: FolderServices): Promise<SurveyFolder> {
    try {
      await mkdir(path, { recursive: true });
    } catch (cause) {
      throw new UsageError(`${shownName(path)}: the folder cannot be made; name one that you may write to`, {
        cause,
      });
    }
    const folder = new SurveyFolder(await realpath(path), services);
    for (const name of ["photos", "results", "history"]) {
      await folder.subfolder(name);
      await services.removePartials(join(folder.path, name));
    }
    await services.removePartials(folder.path);
    return folder;
  }

  /**
   * Path of a folder in it, made if need be.
   *
   * @throws UsageError if something else, or a link, has its name, or the survey is no longer where it was.
   */
  async subfolder(name: string): Promise<string> {
    const path = join(this.path, name);
    // A survey that was moved away must not be begun anew in its old place.
    await access(this.path).catch((cause: unknown) => {
      throw new UsageError(
        `${shownName(this.path)}: the survey folder is no longer there; put it back, or open it where it is now`,
        { cause },
      );
    });
    try {
      await mkdir(path, { recursive: true });
      if ((await realpath(path)) === path) return path;
    } catch (cause) {
      throw new UsageError(`${shownName(path)}: the folder cannot be made or used`, { cause });
    }
    throw new UsageError(
      `${shownName(path)}: this is a link; put a folder there, the page does not leave the survey`,
    );
  }

  /** Text of a file in it; undefined without one. @throws InputError for links, large files, other things. */
  async read(name: string): Promise<string | undefined> {
    const path = join(this.path, name);
    let file;
    try {
      // A link in the place of the file would lead elsewhere.
      file = await open(path, constants.O_RDONLY | (constants.O_NOFOLLOW ?? 0) | (constants.O_NONBLOCK ?? 0));
    } catch (cause) {
      if (cause instanceof Error && "code" in cause && cause.code === "ENOENT") return undefined;
      throw new InputError(`${shownName(name)}: the file cannot be read; is it a link?`, { cause });
    }
    try {
      const found = await file.stat();
      if (!found.isFile()) throw new InputError(`${shownName(name)}: no ordinary file`);
      if (found.size > largestText)
        throw new InputError(`${shownName(name)}: over 4 MB; is it the right file?`);
      return await file.readFile("utf8");
    } finally {
      await file.close();
    }
  }

  async write(name: string, text: string): Promise<void> {
    await this.services.writeWhole(join(this.path, name), text);
  }

  async remove(name: string): Promise<void> {
    await rm(join(this.path, name), { force: true });
  }

  /** Photographs in photos/ and in its folders of sets, by name, numbers counted up. Links are left out. */
  async photos(): Promise<PhotoFile[]> {
    const folder = await this.subfolder("photos");
    const entries = await readdir(folder, { withFileTypes: true });
    const sets = entries.filter((entry) => entry.isDirectory() && isPhotoFolder(entry.name));
    const inSets = await Promise.all(
      sets.map(async ({ name }) => {
        const inside = await readdir(join(folder, name), { withFileTypes: true }).catch(() => []);
        return picturesOf(inside).map((each) => `${name}/${each}`);
      }),
    );
    const files = [...picturesOf(entries), ...inSets.flat().sort(byName.compare)];
    const found = await Promise.all(
      files.map(async (name): Promise<PhotoFile | undefined> => {
        const path = join(folder, name);
        const state = await lstat(path).catch(() => undefined);
        return state?.isFile()
          ? { name, path, stamp: `${state.size}-${state.mtimeMs}-${state.ino}` }
          : undefined;
      }),
    );
    return found.filter((file) => file !== undefined);
  }
}

const picturesOf = (entries: readonly Dirent[]): string[] =>
  entries
    .filter((entry) => entry.isFile() && isPictureName(entry.name))
    .map(({ name }) => name)
    .sort(byName.compare);

export const isPictureName = (name: string): boolean =>
  !name.startsWith(".") && pictureEndings.has(extname(name).toLowerCase()) && !/-annotated\.jpg$/i.test(name);

/** Changes with the text; the same for no file as for none. */
export const revisionOf = (text: string | undefined): string =>
  text === undefined ? "none" : createHash("sha256").update(text).digest("hex").slice(0, 16);
