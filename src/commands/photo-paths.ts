import { readdir, stat } from "node:fs/promises";
import { extname, join } from "node:path";
import { UsageError } from "../problem/index.js";
import { terminalText } from "./terminal-text.js";

const extensions = new Set([".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".heic", ".heif"]);
/** Ending of the copies that `measure --out` writes; in a folder they are no photographs. */
export const annotatedEnding = "-annotated.jpg";

/**
 * Photographs that the arguments name. A folder stands for the pictures in it (not below it), in the order of
 * their names with numbers counted up; everything else is passed on, to be judged when it is read.
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
    const names = await readdir(path).catch((cause: unknown) => {
      throw new UsageError(`${terminalText(path)}: the folder cannot be listed`, { cause });
    });
    const pictures = names.filter(isPictureName).sort(byName.compare);
    if (pictures.length === 0)
      throw new UsageError(
        `${terminalText(path)}: expected pictures in this folder, found none of ${[...extensions].join(" ")}; ` +
          "name the photographs themselves",
      );
    paths.push(...pictures.map((name) => join(path, name)));
  }
  return paths;
}

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
