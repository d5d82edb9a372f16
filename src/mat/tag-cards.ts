import type { Paper, PointOnSheetMm } from "./sheet.js";
import { describeSheet } from "./sheet.js";
import type { Tag } from "./tags.js";
import { tagMarkerSizeMm, tags } from "./tags.js";

/** Where a tag lies on its page: mm, origin mid-page, x right, y up. */
export interface TagCard {
  readonly tag: Tag;
  /** Corners of the card to cut out: lower left, upper right. */
  readonly fromMm: PointOnSheetMm;
  readonly toMm: PointOnSheetMm;
  readonly markerCentreMm: PointOnSheetMm;
}

/** White paper round the marker of a card; two cells (2.5 mm) are enough, so a crooked cut does no harm. */
export const tagQuietZoneMm = 3;

const cardWidthMm = 31;
const cardHeightMm = tagMarkerSizeMm + 2 * tagQuietZoneMm;
const columns = 6;
/** From the top edge of the page to the first row: margin and head line. */
const headMm = 24;
/** One row a train; motion work before the plates, whose row is filled up by TURN and PLAY. */
const letters = ["T", "S", "C", "M", "P"];

/** All tags on one page, six in a row. */
export function layTagCards(paper: Paper): readonly TagCard[] {
  const { heightMm } = describeSheet(paper);
  const inOrder = [
    ...letters.flatMap((letter) => tags.filter((tag) => tag.kind === "part" && tag.label.startsWith(letter))),
    ...tags.filter((tag) => tag.kind === "set"),
  ];
  return inOrder.map((tag, i) => {
    const left = ((i % columns) - columns / 2) * cardWidthMm;
    const top = heightMm / 2 - headMm - Math.floor(i / columns) * cardHeightMm;
    return {
      tag,
      fromMm: [left, top - cardHeightMm],
      toMm: [left + cardWidthMm, top],
      markerCentreMm: [left + tagQuietZoneMm + tagMarkerSizeMm / 2, top - cardHeightMm / 2],
    };
  });
}
