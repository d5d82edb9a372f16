import { constants } from "node:fs";
import { access, mkdir, open, readdir, rename, rm, stat } from "node:fs/promises";
import { basename, dirname, join, resolve } from "node:path";
import { UsageError } from "../problem/index.js";
import { terminalText } from "./terminal-text.js";

/** Files being written: ".name.PID-NUMBER.partial", since one program may write the same file twice at once. */
const partialName = /^\..*\.(\d+)(?:-\d+)?\.partial$/;
let written = 0;

/**
 * Writes a file so that at every moment either the old one or the whole new one stands there, also when the
 * program is killed or the power fails.
 *
 * @throws UsageError if it cannot be written.
 */
export async function writeWhole(path: string, data: string | Uint8Array): Promise<void> {
  const partial = join(dirname(path), `.${basename(path)}.${process.pid}-${++written}.partial`);
  try {
    const file = await open(partial, "w");
    try {
      await file.writeFile(data);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(partial, path);
  } catch (cause) {
    await rm(partial, { force: true }).catch(() => undefined);
    throw new UsageError(`${terminalText(path)}: cannot be written: ${reasonOf(cause)}`, { cause });
  }
}

/** Why a file or folder cannot be written, and what to do. */
export function reasonOf(cause: unknown): string {
  const code = cause instanceof Error && "code" in cause ? cause.code : undefined;
  switch (code) {
    case "ENOSPC":
    case "EDQUOT":
      return "the disk is full; make room and call again, what is measured already is kept";
    case "EROFS":
      return "the disk is read-only; name another folder with --out";
    case "EACCES":
    case "EPERM":
      return "you may not write there; change the folder's rights or name another one with --out";
    case "ENOTDIR":
    case "EEXIST":
    case "EISDIR":
      return "something else has that name; move it away or name another folder with --out";
    case "ENOENT":
      return "the folder is no longer there; put it back, or call again with the place where it is now";
    default:
      return typeof code === "string" ? code : "unknown reason";
  }
}

/**
 * Makes a folder and those above it.
 *
 * @throws what the file system says. On a read-only disk Node says ENOENT; this says EROFS.
 */
export async function makeFolder(folder: string): Promise<void> {
  try {
    await mkdir(folder, { recursive: true });
  } catch (cause) {
    for (let above = dirname(resolve(folder)); ; above = dirname(above)) {
      if ((await stat(above).catch(() => undefined)) === undefined && above !== dirname(above)) continue;
      await access(above, constants.W_OK);
      throw cause;
    }
  }
}

/**
 * Makes a folder within one that is there. Where that is gone (moved away by its owner, say) it is not made anew.
 *
 * @throws what the file system says.
 */
export async function makeFolderWithin(folder: string): Promise<void> {
  await mkdir(folder).catch((cause: unknown) => {
    if ((cause as NodeJS.ErrnoException).code !== "EEXIST") throw cause;
  });
}

/** Takes away what runs that were killed left half written. Those of a run that still goes on stay. */
export async function removePartials(folder: string): Promise<void> {
  const names = await readdir(folder).catch(() => []);
  for (const name of names) {
    const match = partialName.exec(name);
    if (match && !isRunning(Number(match[1])))
      await rm(join(folder, name), { force: true }).catch(() => undefined);
  }
}

/** Is there a program with this number? */
export function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // Someone else's process may not be signalled, but it runs.
    return error instanceof Error && "code" in error && error.code === "EPERM";
  }
}
