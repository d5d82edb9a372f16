import { areaInside, hullOf } from "../find/hull-of.js";
import type { Point } from "../part.js";
import { fromMiddle, sampleSquare } from "./sample-square.js";
import type { Eye } from "./swept-leaves.js";

/** How surely a point of the plane of the wheel's face shows metal, 0 to 1; NaN where it is not seen. */
export type MetalAt = (xMm: number, yMm: number) => number;

export interface Axis {
  /** On the face. */
  readonly at: Point;
  /** Its height is that over the face. */
  readonly eye: Eye;
}

/** Half of the square about the axis that is looked at, mm: the end of a pinion 25 mm up, seen from the side. */
export const windowMm = 15;
const cellMm = 0.2;
/** Pinions end no higher over the face of their wheel (common practice, no source), mm. */
export const highestMm = 30;
/** Of the axis over the face: about there pinions end, mm (common practice, no source). */
export const usualEndMm = 9;
const fineCellMm = 0.1;

/** Of the plane of the face: where a point of the axis is seen that lies so far over it. */
export function seenOnFace({ at: [x, y], eye }: Axis, overMm: number): Point {
  const by = eye.zMm / (eye.zMm - overMm);
  return [eye.xMm + by * (x - eye.xMm), eye.yMm + by * (y - eye.yMm)];
}

/** Of the greatest width: what is narrower at the near end of a piece is the arbor between wheel and pinion; mm that it is cut wider. */
const [arborShare, besideArborMm] = [0.6, 0.3] as const;
/** A shorter one is a leaf, mm. */
const leastRodMm = 1.2;

export interface Place {
  readonly middle: Point;
  /** Half of its greatest length. */
  readonly reachMm: number;
}

export interface Piece {
  readonly whole: Place;
  /** Where the axis enters it; how high over the face that is. */
  readonly on: Point;
  readonly overMm: number;
  /** Across the line to the foot point. */
  readonly acrossMm: number;
  readonly areaMm2: number;
  /** What is left of it above the arbor at its near end, where there is one. */
  readonly above: (Place & { readonly isArbor: (xMm: number, yMm: number) => boolean }) | undefined;
}

/** The largest of some pieces. */
export const largestOf = (pieces: readonly Piece[]): Piece | undefined =>
  pieces.reduce<Piece | undefined>(
    (best, piece) => (best === undefined || piece.areaMm2 > best.areaMm2 ? piece : best),
    undefined,
  );

const sideCells = Math.round((2 * windowMm) / cellMm);
/** From the middle of the square, mm. */
const cellAt = (i: number): number => fromMiddle(i, sideCells, cellMm);
const cellOf = (mm: number): number => Math.floor(mm / cellMm + sideCells / 2);

function steelIn(surely: Float32Array): Uint8Array {
  const isSteel = new Uint8Array(surely.length);
  for (let p = 0; p < surely.length; p++) if (surely[p]! >= 0.5) isSteel[p] = 1;
  return isSteel;
}

/** The pieces that the axis, seen from the side, runs through, from the face up. */
export function piecesOnAxis(steelAt: MetalAt, axis: Axis): Piece[] {
  const [midX, midY] = seenOnFace(axis, usualEndMm);
  const isSteel = steelIn(sampleSquare(steelAt, [midX, midY], sideCells, cellMm));
  const found: Piece[] = [];
  for (let overMm = 0; overMm <= highestMm; overMm++) {
    const [x, y] = seenOnFace(axis, overMm);
    const [i, j] = [cellOf(x - midX), cellOf(y - midY)];
    if (!(i >= 0 && j >= 0 && i < sideCells && j < sideCells) || isSteel[j * sideCells + i] !== 1) continue;
    const cells = takeFrom(isSteel, sideCells, j * sideCells + i);
    const on = [midX + cellAt(i), midY + cellAt(j)] as const;
    found.push({ ...pieceOf(cells, [midX, midY], axis.eye), on, overMm });
  }
  return found;
}

/** @param cells of the square about `middle`. */
function pieceOf(cells: readonly number[], [midX, midY]: Point, eye: Eye): Omit<Piece, "on" | "overMm"> {
  const fromFoot = Math.hypot(midX - eye.xMm, midY - eye.yMm);
  const [ax, ay] = fromFoot < 1e-6 ? [1, 0] : [(midX - eye.xMm) / fromFoot, (midY - eye.yMm) / fromFoot];
  const along = new Float64Array(cells.length);
  const across = new Float64Array(cells.length);
  for (let k = 0; k < cells.length; k++) {
    const dx = cellAt(cells[k]! % sideCells);
    const dy = cellAt(Math.floor(cells[k]! / sideCells));
    along[k] = dx * ax + dy * ay;
    across[k] = dy * ax - dx * ay;
  }
  const [nearest, far] = [Math.min(...along), Math.max(...along)];
  const [left, right] = [Math.min(...across), Math.max(...across)];
  const place = (near: number): Place => {
    const [s, t] = [(near + far) / 2, (left + right) / 2];
    return {
      middle: [midX + s * ax - t * ay, midY + s * ay + t * ax],
      reachMm: (Math.max(far - near, right - left) + cellMm) / 2,
    };
  };
  const near = nearEndOf(along, across, nearest, arborShare * (right - left));
  const rodMm = Math.max(0, ...[...along].map((v, k) => (v < near ? Math.abs(across[k]!) : 0)));
  const isArbor = (x: number, y: number): boolean => {
    const [dx, dy] = [x - midX, y - midY];
    return dx * ax + dy * ay < near && Math.abs(dy * ax - dx * ay) < rodMm + besideArborMm;
  };
  return {
    whole: place(nearest),
    acrossMm: right - left + cellMm,
    areaMm2: cells.length * cellMm ** 2,
    above: near > nearest ? { ...place(near), isArbor } : undefined,
  };
}

/** Where, seen from the foot point, a piece becomes as wide as that. */
function nearEndOf(along: Float64Array, across: Float64Array, nearest: number, wideMm: number): number {
  const rows = Math.round((Math.max(...along) - nearest) / cellMm) + 1;
  const left = new Float64Array(rows).fill(Infinity);
  const right = new Float64Array(rows).fill(-Infinity);
  along.forEach((v, k) => {
    const row = Math.round((v - nearest) / cellMm);
    left[row] = Math.min(left[row]!, across[k]!);
    right[row] = Math.max(right[row]!, across[k]!);
  });
  const first = left.findIndex((from, row) => right[row]! - from >= wideMm);
  // Leaves that point towards the foot point are narrow too, but short.
  return first * cellMm > leastRodMm ? nearest + first * cellMm : nearest;
}

/** Cells that hang together along their sides; takes them away. */
function takeFrom(isSteel: Uint8Array, side: number, from: number): number[] {
  const piece: number[] = [];
  const open = [from];
  isSteel[from] = 0;
  for (let p = open.pop(); p !== undefined; p = open.pop()) {
    piece.push(p);
    const i = p % side;
    if (i > 0) takeCell(isSteel, p - 1, open);
    if (i < side - 1) takeCell(isSteel, p + 1, open);
    if (p >= side) takeCell(isSteel, p - side, open);
    if (p + side < isSteel.length) takeCell(isSteel, p + side, open);
  }
  return piece;
}

function takeCell(isSteel: Uint8Array, p: number, open: number[]): void {
  if (isSteel[p] !== 1) return;
  isSteel[p] = 0;
  open.push(p);
}

/** Area of a piece over that of its convex hull, on finer cells. */
export function solidityOf(steelAt: MetalAt, { whole: { middle, reachMm }, on }: Piece): number {
  // As far from where the axis enters it as the piece can reach.
  const half = Math.ceil((Math.hypot(middle[0] - on[0], middle[1] - on[1]) + reachMm + cellMm) / fineCellMm);
  const side = 2 * half + 1;
  const isSteel = steelIn(sampleSquare(steelAt, on, side, fineCellMm));
  const cells = takeFrom(isSteel, side, half * side + half);
  return cells.length / areaInside(hullOf(endsOfRows(cells, side)));
}

/** Corners of the first and the last cell of every row. */
function endsOfRows(cells: readonly number[], side: number): Int32Array {
  const from = new Int32Array(side).fill(side);
  const to = new Int32Array(side);
  for (let k = 0; k < cells.length; k++) {
    const i = cells[k]! % side;
    const j = Math.floor(cells[k]! / side);
    from[j] = Math.min(from[j]!, i);
    to[j] = Math.max(to[j]!, i + 1);
  }
  const border: number[] = [];
  for (let j = 0; j < side; j++)
    if (to[j]! > 0) border.push(from[j]!, j, to[j]!, j, from[j]!, j + 1, to[j]!, j + 1);
  return Int32Array.from(border);
}
