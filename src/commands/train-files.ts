import { lstat, mkdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { UsageError } from "../problem/index.js";
import type { CuttingOptions, DoubtResult, LeafProfile, Movement, MovementResult } from "../trains/index.js";
import {
  checkFirst,
  cuttingSheet,
  drawOutlineDxf,
  drawOutlineSvg,
  drawSheetHtml,
  drawTrainElevation,
  drawTrainPlan,
  indexingLines,
  sheetCoverage,
  sheetRows,
} from "../trains/index.js";
import type { CommandIo } from "./command-io.js";
import { terminalText } from "./terminal-text.js";

/** Writes train-elevation.svg and train-plan.svg. @throws UsageError if the folder cannot be used. */
export async function writeTrainPictures(
  folder: string,
  movement: Movement,
  result: MovementResult,
  doubt: DoubtResult | undefined,
  io: CommandIo,
): Promise<void> {
  await writeOwn("--picture", folder, io, [
    ["train-elevation.svg", drawTrainElevation(movement, result, doubt)],
    ["train-plan.svg", drawTrainPlan(movement, result, doubt)],
  ]);
}

export interface SheetWishes {
  readonly dividingPlate?: readonly number[];
  readonly handleTurns?: number;
  readonly profile?: LeafProfile;
  readonly inches?: boolean;
}

/**
 * Writes the sheet of one part as HTML, its outline as SVG and DXF.
 *
 * @returns the sheet as text for the terminal.
 * @throws UsageError if there can be no such sheet, or the folder cannot be used.
 */
export async function writeCuttingSheet(
  folder: string,
  movement: Movement,
  part: string,
  wishes: SheetWishes,
  io: CommandIo,
): Promise<string> {
  const position = part.trim().toLowerCase();
  const options: CuttingOptions = {
    ...(wishes.dividingPlate && { plateRows: wishes.dividingPlate }),
    ...(wishes.handleTurns !== undefined && { handleTurns: wishes.handleTurns }),
    ...(wishes.profile && { profile: wishes.profile }),
  };
  const inches = wishes.inches ?? false;
  const sheet = sheetOf(movement, position, options);
  const stem = `cutting-${position.replace(/[^\p{L}\p{N}]+/gu, "-").slice(0, 60)}`;
  const [svg, dxf] = [drawOutlineSvg(sheet), drawOutlineDxf(sheet)];
  await writeOwn("--out", folder, io, [
    [`${stem}.html`, drawSheetHtml(sheet, { inches })],
    ...(svg === undefined ? [] : [[`${stem}.svg`, svg] as const]),
    ...(dxf === undefined ? [] : [[`${stem}.dxf`, dxf] as const]),
  ]);
  const rows = sheetRows(sheet, { inches });
  const width = Math.max(...rows.map(({ label }) => label.length));
  const lines = [
    `Cutting sheet: ${sheet.words}`,
    checkFirst.toUpperCase(),
    ...sheet.warnings.map((warning) => `  ! ${warning}`),
    ...rows.map(({ label, value }) => `  ${label.padEnd(width)}  ${value}`),
    ...(sheet.indexing ? ["Indexing", ...indexingLines(sheet.indexing).map((line) => `  ${line}`)] : []),
    `± is the expanded uncertainty (k = ${sheetCoverage}).`,
  ];
  return `${lines.map((line) => terminalText(line)).join("\n")}\n`;
}

function sheetOf(movement: Movement, position: string, options: CuttingOptions) {
  try {
    return cuttingSheet(movement, position, options);
  } catch (cause) {
    if (cause instanceof RangeError)
      throw new UsageError(`--cutting-sheet: ${terminalText(cause.message)}`, { cause });
    throw cause;
  }
}

/** Every file that is written here says so at its head; one that does not is somebody else's. */
const ownMark = "wheelsurvey";

async function writeOwn(
  option: string,
  folder: string,
  io: CommandIo,
  files: readonly (readonly [name: string, content: string])[],
): Promise<void> {
  const shown = terminalText(folder);
  try {
    await mkdir(folder, { recursive: true });
  } catch (cause) {
    throw new UsageError(`${option} ${shown}: the folder cannot be made; name one that you may write to`, {
      cause,
    });
  }
  for (const [name] of files) {
    const found = await lstat(join(folder, name)).catch(() => undefined);
    if (found === undefined) continue;
    const head = found.isFile()
      ? (await readFile(join(folder, name), "utf8").catch(() => "")).slice(0, 200)
      : "";
    if (found.nlink !== 1 || !head.includes(ownMark))
      throw new UsageError(
        `${option} ${shown}: it holds a ${name} that this program did not write; name another folder`,
      );
  }
  const { default: writeFileAtomic } = await import("write-file-atomic");
  for (const [name, content] of files) {
    try {
      await writeFileAtomic(join(folder, name), content);
    } catch (cause) {
      throw new UsageError(
        `${option} ${shown}: ${name} cannot be written; is the disk full or the folder locked?`,
        { cause },
      );
    }
    io.stderr.write(`wrote ${terminalText(join(folder, name))}\n`);
  }
}
