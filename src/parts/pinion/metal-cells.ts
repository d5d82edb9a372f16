import type { Point } from "../part.js";

/** One piece of metal and a little round it, cut into square cells on the plane of the mat, mm. */
export interface MetalCells {
  readonly xMm: Float64Array;
  readonly yMm: Float64Array;
  /** Log-odds that a cell is metal, held within what the network can be believed. */
  readonly logOdds: Float64Array;
  readonly cellMm: number;
}

type MetalAt = (xMm: number, yMm: number) => number;

/** How surely a cell is metal, or is not, at the most. */
const mostSure = 0.95;
/** What comes nearer to the middle of the square than this belongs to it, of half its side. */
const nearShare = 0.5;
/** Round the piece, mm. */
const marginMm = 0.6;

/**
 * The piece of metal at the middle of a square. Other pieces in it, and what the picture does not show, are left out.
 *
 * @param metalAt 0 to 1 on the plane of the mat, NaN where not seen. @param halfMm half of the square's side.
 */
export function cellsOfPiece(
  metalAt: MetalAt,
  [midX, midY]: Point,
  halfMm: number,
  cellMm: number,
): MetalCells | undefined {
  const side = Math.ceil((2 * halfMm) / cellMm);
  const metal = new Float64Array(side * side);
  const x = (i: number): number => midX + (i + 0.5 - side / 2) * cellMm;
  const y = (j: number): number => midY + (j + 0.5 - side / 2) * cellMm;
  for (let j = 0, p = 0; j < side; j++) for (let i = 0; i < side; i++, p++) metal[p] = metalAt(x(i), y(j));
  const pieces = piecesOf(metal, side);
  const own = piecesNear(pieces, side, (nearShare * halfMm) / cellMm);
  if (own.size === 0) return undefined;
  let [left, right, top, bottom] = [side, 0, side, 0];
  for (let j = 0, p = 0; j < side; j++)
    for (let i = 0; i < side; i++, p++)
      if (own.has(pieces[p]!)) {
        [left, right] = [Math.min(left, i), Math.max(right, i)];
        [top, bottom] = [Math.min(top, j), Math.max(bottom, j)];
      }
  const more = Math.ceil(marginMm / cellMm);
  const [xs, ys, odds]: [number[], number[], number[]] = [[], [], []];
  for (let j = Math.max(0, top - more); j <= Math.min(side - 1, bottom + more); j++)
    for (let i = Math.max(0, left - more); i <= Math.min(side - 1, right + more); i++) {
      const p = j * side + i;
      if (Number.isNaN(metal[p]) || (pieces[p]! > 0 && !own.has(pieces[p]!))) continue;
      const m = Math.min(mostSure, Math.max(1 - mostSure, metal[p]!));
      xs.push(x(i));
      ys.push(y(j));
      odds.push(Math.log(m / (1 - m)));
    }
  return {
    xMm: Float64Array.from(xs),
    yMm: Float64Array.from(ys),
    logOdds: Float64Array.from(odds),
    cellMm,
  };
}

/** Cells of metal that hang together along their sides bear the same number, from 1 on. */
function piecesOf(metal: Float64Array, side: number): Int32Array {
  const pieces = new Int32Array(metal.length);
  let count = 0;
  for (let from = 0; from < metal.length; from++) {
    if (!(metal[from]! >= 0.5) || pieces[from] !== 0) continue;
    const open = [from];
    pieces[from] = ++count;
    for (let p = open.pop(); p !== undefined; p = open.pop()) {
      const i = p % side;
      const next = [i > 0 ? p - 1 : p, i < side - 1 ? p + 1 : p, p - side, p + side];
      for (const q of next)
        if (metal[q]! >= 0.5 && pieces[q] === 0) {
          pieces[q] = count;
          open.push(q);
        }
    }
  }
  return pieces;
}

/** Pieces that come near to the middle: the network may cut leaves off their body. */
function piecesNear(pieces: Int32Array, side: number, nearCells: number): ReadonlySet<number> {
  const near = new Set<number>();
  for (let j = 0, p = 0; j < side; j++)
    for (let i = 0; i < side; i++, p++)
      if (pieces[p]! > 0 && Math.hypot(i + 0.5 - side / 2, j + 0.5 - side / 2) < nearCells)
        near.add(pieces[p]!);
  return near;
}
