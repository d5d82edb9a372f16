import { lstat, rename, rmdir } from "node:fs/promises";
import { dirname, join } from "node:path";
import { apartFolder } from "../../survey/index.js";
import type { SetName } from "../wire.js";
import { PageError } from "./page-error.js";
import type { SurveyFolder } from "./survey-folder.js";

/** A photograph gets another name, or another folder, within photos/. Its content stays as it is. */
export interface Move {
  /** "one.jpg", "turn-T2/one.jpg" */
  readonly from: string;
  readonly to: string;
}

/** Folder of a set within photos/, named as the readers of survey folders expect it: "turn-T2". */
export const setFolderName = ({ kind, label }: SetName): string =>
  label === undefined ? kind : `${kind}-${label.toUpperCase()}`;

const baseName = (name: string): string => name.slice(name.lastIndexOf("/") + 1);
const folderOf = (name: string): string => name.slice(0, name.length - baseName(name).length);

/**
 * @param set null: out of every set.
 * @param taken all names, in lower case.
 * @param hasCard says of a photograph that a card in it would put it into a set, wherever it lies.
 */
export function movesIntoSet(
  photos: readonly string[],
  set: SetName | null,
  taken: ReadonlySet<string>,
  hasCard: (name: string) => boolean,
): Move[] {
  const names = new Set(taken);
  return [...new Set(photos)].flatMap((from): Move[] => {
    const folder = set === null ? (hasCard(from) ? `${apartFolder}/` : "") : `${setFolderName(set)}/`;
    if (folderOf(from) === folder) return [];
    const to = freeName(`${folder}${baseName(from)}`, names);
    names.add(to.toLowerCase());
    return [{ from, to }];
  });
}

const stageEnding = /[ _-](?:before|after)$/i;

/** The name that says that a photograph shows a part before or after the work: "t2-before.jpg". */
export function movesToStage(
  from: string,
  stage: "before" | "after" | null,
  taken: ReadonlySet<string>,
): Move[] {
  const dot = from.lastIndexOf(".");
  const stem = from.slice(0, dot).replace(stageEnding, "");
  const wanted = `${stem}${stage === null ? "" : `-${stage}`}${from.slice(dot)}`;
  if (wanted === from) return [];
  const others = new Set(taken);
  others.delete(from.toLowerCase());
  // The word must stay the last one: "t2-2-before.jpg".
  const free =
    stage === null ? freeName(wanted, others) : freeStagedName(stem, stage, from.slice(dot), others);
  return [{ from, to: free }];
}

function freeName(wanted: string, taken: ReadonlySet<string>): string {
  const dot = wanted.lastIndexOf(".");
  for (let n = 1; ; n++) {
    const name = n === 1 ? wanted : `${wanted.slice(0, dot)}-${n}${wanted.slice(dot)}`;
    if (!taken.has(name.toLowerCase())) return name;
  }
}

function freeStagedName(stem: string, stage: string, ending: string, taken: ReadonlySet<string>): string {
  for (let n = 1; ; n++) {
    const name = `${stem}${n === 1 ? "" : `-${n}`}-${stage}${ending}`;
    if (!taken.has(name.toLowerCase())) return name;
  }
}

/** Where each photograph of the moves lies now. @throws PageError "conflict" if one is gone, or its place taken. */
export async function checkMoves(folder: SurveyFolder, moves: readonly Move[]): Promise<void> {
  const photos = await folder.subfolder("photos");
  for (const { from, to } of moves) {
    const [there, taken] = await Promise.all([isThere(join(photos, from)), isThere(join(photos, to))]);
    // Killed between writing the step and its moves, some are made and some are not: both will do.
    if (there === taken)
      throw new PageError(
        "conflict",
        `${from} was moved or renamed by another program meanwhile; nothing was changed`,
      );
  }
}

/** Makes those that are not made yet; set folders come and go with their photographs. */
export async function makeMoves(folder: SurveyFolder, moves: readonly Move[]): Promise<void> {
  const photos = await folder.subfolder("photos");
  for (const { from, to } of moves) {
    const [source, target] = [join(photos, from), join(photos, to)];
    if (!(await isThere(source))) continue;
    if (to.includes("/")) await folder.subfolder(join("photos", dirname(to)));
    if (await isThere(target)) throw new PageError("conflict", `${to} is there already`);
    await rename(source, target);
    // Not empty: it stays.
    if (from.includes("/")) await rmdir(dirname(source)).catch(() => undefined);
  }
}

export const backwards = (moves: readonly Move[]): Move[] =>
  moves.map(({ from, to }) => ({ from: to, to: from })).reverse();

const isThere = async (path: string): Promise<boolean> =>
  (await lstat(path).catch(() => undefined)) !== undefined;
