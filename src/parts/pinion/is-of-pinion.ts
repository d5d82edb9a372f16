/** Half of the longest that is seen of a pinion on its end, walls and arbor, mm: what reaches further lies. */
const longestEndMm = 12;

/**
 * Whether a few teeth told from afar about a middle are but the walls or the shadow of a pinion on its end, counted from
 * close: seen from one side these have a middle of their own, beside that of the pinion.
 *
 * @param pinion the middle of all that is seen of it, and half of its greatest length, mm.
 */
export const isOfPinion = (
  middle: { readonly xMm: number; readonly yMm: number },
  pinion: { readonly xMm: number; readonly yMm: number; readonly reachMm: number },
): boolean =>
  pinion.reachMm <= longestEndMm &&
  Math.hypot(middle.xMm - pinion.xMm, middle.yMm - pinion.yMm) < pinion.reachMm;
