import type { PhotoRecord, SetRecord } from "../../record/index.js";
import { laidOverPlot, setPlots, type OpenPhoto } from "../../report/index.js";
import type { SetFigure } from "../wire.js";

const setWords = { turn: "Turn set", play: "Play set", height: "Height set" } as const;

const nameOf = (record: SetRecord): string => [setWords[record.kind], record.label ?? ""].join(" ").trim();

const plotsOf = (record: SetRecord, photos: readonly PhotoRecord[]) =>
  setPlots(record, photos, nameOf(record));

/** @param path of the result that they belong to. */
export function setFigures(record: SetRecord, photos: readonly PhotoRecord[], path: string): SetFigure[] {
  const laid = laidOverPlot(record, photos, nameOf(record));
  return [
    ...(laid ? [{ alt: laid.alt, caption: laid.caption, path: `${path}/laid-over.svg` }] : []),
    ...plotsOf(record, photos).map(({ alt, caption }, i) => ({ alt, caption, path: `${path}/${i}.svg` })),
  ];
}

/** Its two extreme photographs over each other as SVG; undefined if it has none, or they are gone. */
export const drawLaidOver = (
  record: SetRecord,
  photos: readonly PhotoRecord[],
  open: OpenPhoto,
): Promise<string | undefined> =>
  laidOverPlot(record, photos, nameOf(record))?.svg(open) ?? Promise.resolve(undefined);

/** A plot of a set as SVG; undefined if it has no such plot. */
export const drawSetFigure = (
  record: SetRecord,
  photos: readonly PhotoRecord[],
  figure: number,
): string | undefined => plotsOf(record, photos)[figure]?.svg();
