import { mkdir, readFile } from "node:fs/promises";
import { homedir } from "node:os";
import { dirname, isAbsolute, join } from "node:path";
import { InputError, UsageError } from "../problem/index.js";
import { checkBarReadings } from "./check-bar-readings.js";
import type { Paper } from "./sheet.js";
import { papers, sheetRevision } from "./sheet.js";

/** One printed mat and what its check bars measure, kept under a name that the user gave. */
export interface RememberedMat {
  readonly name: string;
  readonly paper: Paper;
  /** Revision of the sheet that was current when its readings were taken. */
  readonly revision: number;
  readonly acrossMm: number;
  readonly alongMm: number;
}

export interface RememberedMatsOptions {
  /** Folder of the user's settings. Default: `configFolder()`. */
  readonly folder?: string;
}

const schema = "wheelsurvey/mats/1";
const longestName = 40;

/** $XDG_CONFIG_HOME/wheelsurvey, or what stands for it on macOS and Windows. */
export function configFolder(
  environment: NodeJS.ProcessEnv = process.env,
  platform: NodeJS.Platform = process.platform,
  home: string = homedir(),
): string {
  const { XDG_CONFIG_HOME: xdg, APPDATA: appData } = environment;
  // The XDG base directory specification: a relative path is invalid and must be ignored.
  if (xdg && isAbsolute(xdg)) return join(xdg, "wheelsurvey");
  if (platform === "win32") return join(appData ?? join(home, "AppData", "Roaming"), "wheelsurvey");
  if (platform === "darwin") return join(home, "Library", "Application Support", "wheelsurvey");
  return join(home, ".config", "wheelsurvey");
}

/** All remembered mats in the order of their names; none if nothing was ever remembered. */
export async function listRememberedMats(options: RememberedMatsOptions = {}): Promise<RememberedMat[]> {
  const file = fileIn(options);
  let text: string;
  try {
    text = await readFile(file, "utf8");
  } catch (cause) {
    if (cause instanceof Error && "code" in cause && cause.code === "ENOENT") return [];
    throw new InputError(`${file}: the list of remembered mats cannot be read`, { cause });
  }
  return parseMats(text, file);
}

/**
 * The readings of a mat that was remembered under this name. They hold for that one sheet of paper, so they are
 * only used where the user names it.
 *
 * @throws UsageError if no mat has this name; InputError if the list is damaged.
 */
export async function readRememberedMat(
  name: string,
  options: RememberedMatsOptions = {},
): Promise<RememberedMat> {
  const mats = await listRememberedMats(options);
  const wanted = tidyName(name);
  const mat = mats.find((each) => each.name === wanted);
  if (mat) return mat;
  const known =
    mats.length > 0 ? `known: ${mats.map((each) => each.name).join(", ")}` : "none is remembered yet";
  throw new UsageError(
    `no mat is remembered as ${JSON.stringify(wanted.slice(0, 60))} (${known}); measure its check bars and use "wheelsurvey mat --remember"`,
  );
}

/**
 * Keeps the readings of one printed mat under a name; a mat of the same name is replaced.
 *
 * @returns the mat as it is kept now.
 * @throws UsageError if the name or a reading cannot be right; InputError if the present list is damaged.
 */
export async function rememberMat(
  mat: Omit<RememberedMat, "revision">,
  options: RememberedMatsOptions = {},
): Promise<RememberedMat> {
  checkBarReadings(mat.paper, mat);
  const kept: RememberedMat = { ...mat, name: checkedName(mat.name), revision: sheetRevision };
  const others = (await listRememberedMats(options)).filter(({ name }) => name !== kept.name);
  await writeMats([...others, kept], options);
  return kept;
}

/** @throws UsageError if no mat has this name. */
export async function forgetMat(name: string, options: RememberedMatsOptions = {}): Promise<void> {
  const { name: found } = await readRememberedMat(name, options);
  await writeMats(
    (await listRememberedMats(options)).filter((mat) => mat.name !== found),
    options,
  );
}

const fileIn = ({ folder = configFolder() }: RememberedMatsOptions): string => join(folder, "mats.json");

/** The same name may reach us composed or decomposed, as keyboards and shells please. */
const tidyName = (name: string): string => name.trim().normalize("NFC");

function checkedName(given: string): string {
  const name = tidyName(given);
  if (name.length > longestName || !/^[\p{L}\p{N}][\p{L}\p{N}\p{M} ._-]*$/u.test(name)) {
    throw new UsageError(
      `name of the mat: expected 1 to ${longestName} letters, digits, spaces, dots or dashes, ` +
        `received ${JSON.stringify(name.slice(0, 60))}`,
    );
  }
  return name;
}

async function parseMats(text: string, file: string): Promise<RememberedMat[]> {
  const { z } = await import("zod");
  const shape = z.object({
    schema: z.literal(schema),
    mats: z.array(
      z.object({
        name: z.string(),
        paper: z.enum(papers),
        revision: z.int().positive(),
        mat_across_mm: z.number(),
        mat_along_mm: z.number(),
      }),
    ),
  });
  try {
    return shape.parse(JSON.parse(text)).mats.map((entry) => {
      const mat: RememberedMat = {
        name: checkedName(entry.name),
        paper: entry.paper,
        revision: entry.revision,
        acrossMm: entry.mat_across_mm,
        alongMm: entry.mat_along_mm,
      };
      checkBarReadings(mat.paper, mat);
      return mat;
    });
  } catch (cause) {
    throw new InputError(
      `${file}: the list of remembered mats is damaged; mend it or remove it, then remember your mats again`,
      { cause },
    );
  }
}

async function writeMats(mats: readonly RememberedMat[], options: RememberedMatsOptions): Promise<void> {
  const file = fileIn(options);
  const entries = [...mats]
    .sort((a, b) => a.name.localeCompare(b.name, "en"))
    .map(({ name, paper, revision, acrossMm, alongMm }) => ({
      name,
      paper,
      revision,
      mat_across_mm: acrossMm,
      mat_along_mm: alongMm,
    }));
  const { default: writeFileAtomic } = await import("write-file-atomic");
  try {
    await mkdir(dirname(file), { recursive: true });
    await writeFileAtomic(file, `${JSON.stringify({ schema, mats: entries }, undefined, 2)}\n`);
  } catch (cause) {
    throw new UsageError(`${file}: the list of remembered mats cannot be written`, { cause });
  }
}
