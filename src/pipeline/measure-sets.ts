import { recordSet, type SetRecord } from "../record/index.js";
import { evaluateSet, recogniseSets, type SetKind, type SetPhoto } from "../survey/index.js";

/**
 * Evaluates sets of photographs that were measured.
 *
 * @param kind all photographs are one such set; absent: cards, tags and folders say which belong together.
 */
export function measureSets(photos: readonly SetPhoto[], kind?: SetKind): SetRecord[] {
  const sets = kind === undefined ? recogniseSets(photos) : [{ kind, photos }];
  return sets.flatMap(({ kind: each, photos: members, ...set }) =>
    evaluateSet(each, members, "label" in set ? set.label : undefined).map(recordSet),
  );
}
