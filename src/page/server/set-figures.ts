import type { PhotoRecord, SetRecord } from "../../record/index.js";
import { setPlots } from "../../report/index.js";
import type { SetFigure } from "../wire.js";

const setWords = { turn: "Turn set", play: "Play set", height: "Height set" } as const;

const plotsOf = (record: SetRecord, photos: readonly PhotoRecord[]) =>
  setPlots(record, photos, [setWords[record.kind], record.label ?? ""].join(" ").trim());

/** @param path of the result that they belong to. */
export const setFigures = (record: SetRecord, photos: readonly PhotoRecord[], path: string): SetFigure[] =>
  plotsOf(record, photos).map(({ alt, caption }, i) => ({ alt, caption, path: `${path}/${i}.svg` }));

/** A plot of a set as SVG; undefined if it has no such plot. */
export const drawSetFigure = (
  record: SetRecord,
  photos: readonly PhotoRecord[],
  figure: number,
): string | undefined => plotsOf(record, photos)[figure]?.svg();
