import { readdir, stat } from "node:fs/promises";
import { extname, join } from "node:path";
import { UsageError } from "../problem/index.js";
import { isPhotoFolder } from "../survey/index.js";
import { terminalText } from "./terminal-text.js";

const extensions = new Set([".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".heic", ".heif"]);
/** Ending of the copies that `measure --out` writes; in a folder they are no photographs. */
export const annotatedEnding = "-annotated.jpg";

/**
 * Photographs that the arguments name. A folder stands for the pictures in it, in the order of their names with
 * numbers counted up, and for those in its folders of sets (turn-T2, play-S1, height-T3, no-set), but for nothing else
 * below it; everything that is no folder is passed on, to be judged when it is read.
 *
 * @throws UsageError if a folder holds no picture or cannot be listed.
 */
export async function photoPaths(given: readonly string[]): Promise<string[]> {
  const paths: string[] = [];
  for (const path of given) {
    if (!(await isFolder(path))) {
      paths.push(path);
      continue;
    }
    const pictures = await picturesIn(path);
    for (const name of await namesIn(path)) {
      const below = join(path, name);
      if (isPhotoFolder(name) && (await isFolder(below))) pictures.push(...(await picturesIn(below)));
    }
    if (pictures.length === 0)
      throw new UsageError(
        `${terminalText(path)}: expected pictures in this folder, found none of ${[...extensions].join(" ")}; ` +
          "name the photographs themselves",
      );
    paths.push(...pictures);
  }
  return paths;
}

async function namesIn(folder: string): Promise<string[]> {
  const names = await readdir(folder).catch((cause: unknown) => {
    throw new UsageError(`${terminalText(folder)}: the folder cannot be listed`, { cause });
  });
  return names.sort(byName.compare);
}

const picturesIn = async (folder: string): Promise<string[]> =>
  (await namesIn(folder)).filter(isPictureName).map((name) => join(folder, name));

const byName = new Intl.Collator("en", { numeric: true });

const isPictureName = (name: string): boolean =>
  !name.startsWith(".") &&
  extensions.has(extname(name).toLowerCase()) &&
  !name.toLowerCase().endsWith(annotatedEnding);

const isFolder = async (path: string): Promise<boolean> => {
  try {
    return (await stat(path)).isDirectory();
  } catch {
    return false;
  }
};
