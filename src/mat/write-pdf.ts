import { readFile, stat } from "node:fs/promises";
import { dirname } from "node:path";
import { UsageError } from "../problem/index.js";
import { drawMatPdf } from "./draw-mat-pdf.js";
import { drawSetsPdf } from "./draw-sets-pdf.js";
import { drawTagsPdf } from "./draw-tags-pdf.js";
import { isOwnPdf } from "./pdf-page.js";
import type { Paper } from "./sheet.js";

export interface WritePdfOptions {
  /** Overwrite a file that this program did not write. Default false. */
  readonly force?: boolean;
}

/**
 * Writes the mat of one paper size to `file`, whole or not at all.
 *
 * @throws UsageError if `file` holds something else (without `force`) or cannot be written.
 */
export const writeMatPdf = async (paper: Paper, file: string, options?: WritePdfOptions): Promise<void> =>
  writePdf(await drawMatPdf(paper), file, options);

/** Writes the page of tags for one paper size to `file`; otherwise as `writeMatPdf`. */
export const writeTagsPdf = async (paper: Paper, file: string, options?: WritePdfOptions): Promise<void> =>
  writePdf(await drawTagsPdf(paper), file, options);

/** Writes the page about turn sets and play sets for one paper size to `file`; otherwise as `writeMatPdf`. */
export const writeSetsPdf = async (paper: Paper, file: string, options?: WritePdfOptions): Promise<void> =>
  writePdf(await drawSetsPdf(paper), file, options);

async function writePdf(bytes: Uint8Array, file: string, options: WritePdfOptions = {}): Promise<void> {
  await refuseToOverwrite(file, options.force ?? false);
  const { default: writeFileAtomic } = await import("write-file-atomic");
  try {
    await writeFileAtomic(file, Buffer.from(bytes));
  } catch (cause) {
    throw new UsageError(cannotWrite(file, cause), { cause });
  }
}

async function refuseToOverwrite(file: string, force: boolean): Promise<void> {
  let present;
  try {
    present = await stat(file);
  } catch (cause) {
    if (errorCode(cause) === "ENOENT") return;
    throw new UsageError(cannotWrite(file, cause), { cause });
  }
  if (present.isDirectory()) {
    throw new UsageError(`${file}: expected a file name, received a folder; add a name, such as mat.pdf`);
  }
  if (!present.isFile()) throw new UsageError(`${file}: expected an ordinary file; give another name`);
  if (force) return;
  // Our own sheets are some 40 kB; a large file is not one and need not be read.
  if (present.size > 1_000_000 || !isOwnPdf(await readFile(file))) {
    throw new UsageError(
      `${file}: holds something that this program did not write; give another name with --out, or --force to overwrite it`,
    );
  }
}

function cannotWrite(file: string, cause: unknown): string {
  const code = errorCode(cause);
  if (code === "ENOENT")
    return `${file}: there is no folder ${dirname(file)}; make it first or give another name`;
  if (code === "EACCES" || code === "EPERM" || code === "EROFS") {
    return `${file}: this folder or file may not be written; give another name with --out`;
  }
  return `${file}: cannot be written (${code ?? "unknown reason"})`;
}

const errorCode = (error: unknown): string | undefined =>
  error instanceof Error && "code" in error && typeof error.code === "string" ? error.code : undefined;
