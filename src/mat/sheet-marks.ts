import type { PointOnSheetMm, Sheet } from "./sheet.js";

/** A filled rectangle on the sheet, sides along x and y; every printed thing but markers and words is one. */
export interface Mark {
  readonly fromMm: PointOnSheetMm;
  readonly toMm: PointOnSheetMm;
  /** sRGB level: 0 black, 255 white. */
  readonly grey: number;
}

const neutralGrey = 128;
/** Light enough that the part finder takes them for paper, dark enough to be seen on the bench. */
const crossGrey = 176;
const fieldGrey = 192;
const fineLineMm = 0.15;
const barLineMm = 0.25;
/** Stays one marker cell clear of the ring, which must be white there. */
const tickLengthMm = 4;
const crossLengthMm = 8;
const fieldTickMm = 5;

/**
 * Check bars, grey patch, pierce crosses and the corners of the working field.
 *
 * A check bar runs from the middle of one end tick to the middle of the other: ink that spreads moves
 * the edges of a line, not its middle.
 */
export function sheetMarks(sheet: Sheet): readonly Mark[] {
  const { centreMm, widthMm, heightMm } = sheet.greyPatch;
  return [
    ...fieldCorners(sheet.fieldHalfMm),
    ...sheet.pierceCrosses.flatMap(({ atMm }) => [
      box(atMm, crossLengthMm, fineLineMm, crossGrey),
      box(atMm, fineLineMm, crossLengthMm, crossGrey),
    ]),
    box(centreMm, widthMm, heightMm, neutralGrey),
    ...sheet.bars.flatMap(({ direction, fromMm, toMm, lengthMm }) => {
      const middle: PointOnSheetMm = [(fromMm[0] + toMm[0]) / 2, (fromMm[1] + toMm[1]) / 2];
      const across = direction === "across";
      const tick = (at: PointOnSheetMm): Mark =>
        across ? box(at, fineLineMm, tickLengthMm, 0) : box(at, tickLengthMm, fineLineMm, 0);
      const line = across ? box(middle, lengthMm, barLineMm, 0) : box(middle, barLineMm, lengthMm, 0);
      return [line, tick(fromMm), tick(toMm)];
    }),
  ];
}

function fieldCorners([halfX, halfY]: PointOnSheetMm): Mark[] {
  return [-1, 1].flatMap((sx) =>
    [-1, 1].flatMap((sy) => {
      const x = sx * halfX;
      const y = sy * halfY;
      return [
        box([x - (sx * fieldTickMm) / 2, y], fieldTickMm, fineLineMm, fieldGrey),
        box([x, y - (sy * fieldTickMm) / 2], fineLineMm, fieldTickMm, fieldGrey),
      ];
    }),
  );
}

function box([x, y]: PointOnSheetMm, widthMm: number, heightMm: number, grey: number): Mark {
  return {
    fromMm: [x - widthMm / 2, y - heightMm / 2],
    toMm: [x + widthMm / 2, y + heightMm / 2],
    grey,
  };
}
