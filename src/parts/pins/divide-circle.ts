import { nearestTurn, placeInTurn, withinTurn } from "../../geometry/index.js";
export interface DividedPlace {
  readonly angleRad: number;
  /** Which of the marks stands here; absent at an empty place. */
  readonly index?: number;
  /** Mark minus place. */
  readonly offRad: number;
  /** Of an empty place: the face is seen there. */
  readonly isSeen: boolean;
}

const turn = 2 * Math.PI;
/** Fewer marks than this say nothing about places that may be empty. */
const fewestToExtend = 4;
/** A mark this far off its place, as a share of the division, stands on no place of it. */
const mostOff = 0.12;
/** Of the places, at least so many hold a mark, unless the others were not seen. */
const leastFilled = 0.6;

/**
 * The even division of a circle that a few marks on it stand on. More places than marks are assumed only where the
 * marks leave no doubt: each stands on a place, and most places are taken.
 *
 * @param marksRad angles of the marks, any order; @param isSeen whether an empty place at an angle would be noticed.
 */
export function divideCircle(
  marksRad: readonly number[],
  isSeen: (angleRad: number) => boolean,
): { readonly places: readonly DividedPlace[] } {
  const m = marksRad.length;
  const own = divisionBy(m, marksRad, isSeen);
  if (m < fewestToExtend || own.worst < mostOff) return { places: own.places };
  for (let n = m + 1; n <= 2 * m; n++) {
    const more = divisionBy(n, marksRad, isSeen);
    const empty = more.places.filter((p) => p.index === undefined);
    const noticed = empty.filter((p) => p.isSeen).length;
    if (more.worst < mostOff && !more.doubled && m / (m + noticed) >= leastFilled)
      return { places: more.places };
  }
  return { places: own.places };
}

interface Division {
  readonly places: readonly DividedPlace[];
  readonly worst: number;
  readonly doubled: boolean;
}

function divisionBy(n: number, marks: readonly number[], isSeen: (angleRad: number) => boolean): Division {
  const pitch = turn / n;
  let re = 0;
  let im = 0;
  for (const t of marks) {
    re += Math.cos(n * t);
    im += Math.sin(n * t);
  }
  const phase = Math.atan2(im, re) / n;
  const taken = new Map<number, { index: number; offRad: number }>();
  let worst = 0;
  let doubled = false;
  // Nearest first, so that a stray mark does not push a good one out of its place.
  const order = marks
    .map((t, index) => {
      const place = Math.round((t - phase) / pitch);
      return { index, place: placeInTurn(place, n), offRad: t - phase - place * pitch };
    })
    .sort((a, b) => Math.abs(a.offRad) - Math.abs(b.offRad));
  const strays: typeof order = [];
  for (const mark of order) {
    worst = Math.max(worst, Math.abs(mark.offRad) / pitch);
    if (taken.has(mark.place)) strays.push(mark);
    else taken.set(mark.place, mark);
  }
  doubled = strays.length > 0;
  // Unevenly set marks, as many as places: each gets the next free place.
  if (n === marks.length)
    for (const stray of strays) {
      const free = Array.from({ length: n }, (_, k) => k).filter((k) => !taken.has(k));
      const near = free.sort(
        (a, b) =>
          Math.abs(nearestTurn(marks[stray.index]! - phase - a * pitch)) -
          Math.abs(nearestTurn(marks[stray.index]! - phase - b * pitch)),
      )[0]!;
      taken.set(near, {
        index: stray.index,
        offRad: nearestTurn(marks[stray.index]! - phase - near * pitch),
      });
    }
  const places = Array.from({ length: n }, (_, k): DividedPlace => {
    const angleRad = withinTurn(phase + k * pitch);
    const mark = taken.get(k);
    return mark === undefined
      ? { angleRad, offRad: 0, isSeen: isSeen(angleRad) }
      : { angleRad, index: mark.index, offRad: mark.offRad, isSeen: true };
  });
  return { places: places.sort((a, b) => a.angleRad - b.angleRad), worst, doubled };
}
