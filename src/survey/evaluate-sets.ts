import { basename, dirname } from "node:path";
import { wheelsOfSet } from "./compare/wheels-of-set.js";
import { evaluateHeightSet } from "./height/evaluate-height-set.js";
import { evaluatePlaySet } from "./play/evaluate-play-set.js";
import type { SetKind, SetPhoto } from "./set-photo.js";
import type { SetProblem, SetResult } from "./set-result.js";
import { evaluateTurnSet } from "./turn/evaluate-turn-set.js";

const evaluate = { turn: evaluateTurnSet, play: evaluatePlaySet, height: evaluateHeightSet } as const;

/** Photographs that were given as one set: one result for each wheel that they show together. */
export function evaluateSet(kind: SetKind, photos: readonly SetPhoto[], label?: string): SetResult[] {
  const { wheels, problems } = wheelsOfSet(photos);
  const named = wheels.map((w) => ({ ...w, ...(label === undefined ? {} : { label: w.label ?? label }) }));
  if (named.length === 0) return [unevaluated(kind, photos, problems, label)];
  const results = named.map((wheel) => evaluate[kind](wheel));
  // Of several wheels on the mat, only some were turned or nudged: the others make no set.
  const told = results.filter((r) => isTold(r));
  const kept = told.length > 0 ? told : results;
  return kept.map((r) => ({
    ...r,
    ...(isTold(r) ? {} : { verdict: "cannot tell" as const }),
    problems: [...problems, ...r.problems],
  }));
}

/** Is there an answer in it? */
export const isTold = (r: SetResult): boolean =>
  r.eccentricityMm !== undefined ||
  r.faceHeightMm !== undefined ||
  (r.verdict !== undefined && r.verdict !== "cannot tell");

function unevaluated(
  kind: SetKind,
  photos: readonly SetPhoto[],
  problems: readonly SetProblem[],
  label: string | undefined,
): SetResult {
  const none: SetProblem = {
    code: "set-wheel-not-found",
    text: `${kind} set: no wheel is seen in two or more of these photographs`,
    advice: "photograph one wheel, on the mat, in every photograph of the set",
  };
  return {
    kind,
    ...(label === undefined ? {} : { label }),
    photos: photos.map(({ file }) => file),
    positions: [],
    findings: [],
    verdict: "cannot tell",
    problems: problems.length > 0 ? problems : [none],
  };
}

/** A set that nobody named: its kind, its label if it has one, and its photographs. */
export interface RecognisedSet {
  readonly kind: SetKind;
  readonly label?: string;
  readonly photos: readonly SetPhoto[];
}

const folderName = /^(turn|play|height)(?:[-_ ]([A-Za-z]\d{1,2}))?$/i;

/** The set that a folder's name speaks of, as in photos/turn-T2/; undefined for any other folder. */
export function setOfFolder(file: string): { readonly kind: SetKind; readonly label?: string } | undefined {
  const match = folderName.exec(basename(dirname(file)));
  if (match === null) return undefined;
  const kind = match[1]!.toLowerCase() as SetKind;
  return match[2] === undefined ? { kind } : { kind, label: match[2].toUpperCase() };
}

/** The folder within photos/ whose photographs belong to no set, whatever cards they show. */
export const apartFolder = "no-set";

const isKeptApart = (file: string): boolean => basename(dirname(file)).toLowerCase() === apartFolder;

/** May photographs of a survey lie in this folder of its photos/: that of a set, or of those in none? */
export const isPhotoFolder = (name: string): boolean =>
  setOfFolder(`${name}/any`) !== undefined || isKeptApart(`${name}/any`);

/** Cards say it of a photograph, whatever its folder, unless that keeps it apart. */
const setOfCards = (file: string, cards: readonly string[]): SetKind | undefined =>
  isKeptApart(file)
    ? undefined
    : cards.includes("TURN")
      ? "turn"
      : cards.includes("PLAY")
        ? "play"
        : undefined;

/** Does the photograph belong to a set, by its cards or its folder? */
export const belongsToSet = (file: string, cards: readonly string[]): boolean =>
  setOfCards(file, cards) !== undefined || setOfFolder(file) !== undefined;

/** Sorts photographs into the sets that their cards, tags and folders speak of; the others belong to none. */
export function recogniseSets(photos: readonly SetPhoto[]): RecognisedSet[] {
  const sets = new Map<string, { kind: SetKind; label?: string; photos: SetPhoto[] }>();
  for (const photo of photos) {
    const folder = setOfFolder(photo.file);
    const kind = setOfCards(photo.file, photo.cards) ?? folder?.kind;
    if (kind === undefined) continue;
    const tags = photo.cards.filter((c) => /^[A-Z]\d+$/.test(c));
    const label = folder?.label ?? (tags.length === 1 ? tags[0] : undefined);
    const key = `${kind} ${folder === undefined ? (label ?? "") : dirname(photo.file)}`;
    const set = sets.get(key) ?? { kind, ...(label === undefined ? {} : { label }), photos: [] };
    set.photos.push(photo);
    sets.set(key, set);
  }
  return [...sets.values()];
}
