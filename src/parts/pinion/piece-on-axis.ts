import { areaInside, hullOf } from "../find/hull-of.js";
import type { Point } from "../part.js";
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
  /** Across the line to the foot point. */
  readonly acrossMm: number;
  readonly areaMm2: number;
  /** What is left of it above the arbor at its near end, where there is one. */
  readonly above: (Place & { readonly isArbor: (xMm: number, yMm: number) => boolean }) | undefined;
}

/** The largest piece that the axis, seen from the side, runs through. */
export function pieceOnAxis(steelAt: MetalAt, axis: Axis): Piece | undefined {
  const [midX, midY] = seenOnFace(axis, usualEndMm);
  const side = Math.round((2 * windowMm) / cellMm);
  const xOf = (i: number): number => midX + (i + 0.5 - side / 2) * cellMm;
  const yOf = (j: number): number => midY + (j + 0.5 - side / 2) * cellMm;
  const isSteel = new Uint8Array(side * side);
  for (let j = 0, p = 0; j < side; j++)
    for (let i = 0; i < side; i++, p++) isSteel[p] = steelAt(xOf(i), yOf(j)) >= 0.5 ? 1 : 0;
  let best: number[] = [];
  for (let overMm = 0; overMm <= highestMm; overMm++) {
    const [x, y] = seenOnFace(axis, overMm);
    const i = Math.floor((x - midX) / cellMm + side / 2);
    const j = Math.floor((y - midY) / cellMm + side / 2);
    if (!(i >= 0 && j >= 0 && i < side && j < side) || isSteel[j * side + i] !== 1) continue;
    const piece = takeFrom(isSteel, side, j * side + i);
    if (piece.length > best.length) best = piece;
  }
  if (best.length === 0) return undefined;
  const fromFoot = Math.hypot(midX - axis.eye.xMm, midY - axis.eye.yMm);
  const [ax, ay] =
    fromFoot < 1e-6 ? [1, 0] : [(midX - axis.eye.xMm) / fromFoot, (midY - axis.eye.yMm) / fromFoot];
  const along = new Float64Array(best.length);
  const across = new Float64Array(best.length);
  best.forEach((p, k) => {
    const [dx, dy] = [xOf(p % side) - midX, yOf(Math.floor(p / side)) - midY];
    along[k] = dx * ax + dy * ay;
    across[k] = dy * ax - dx * ay;
  });
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
    areaMm2: best.length * cellMm ** 2,
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
    for (const q of [i > 0 ? p - 1 : p, i < side - 1 ? p + 1 : p, p - side, p + side])
      if (isSteel[q] === 1) {
        isSteel[q] = 0;
        open.push(q);
      }
  }
  return piece;
}

/** Area of what is steel about a place over that of its convex hull. */
export function solidityOf(steelAt: MetalAt, { middle: [x, y], reachMm }: Place): number {
  const side = Math.ceil((2 * (reachMm + cellMm)) / fineCellMm);
  const at = (i: number): number => (i - side / 2) * fineCellMm;
  const border: number[] = [];
  let area = 0;
  for (let j = 0; j < side; j++) {
    let [from, to] = [-1, -1];
    for (let i = 0; i < side; i++) {
      if (!(steelAt(x + at(i), y + at(j)) >= 0.5)) continue;
      area++;
      if (from < 0) from = i;
      to = i;
    }
    if (from >= 0) border.push(from, j, to + 1, j, from, j + 1, to + 1, j + 1);
  }
  const hull = hullOf(Int32Array.from(border));
  return area / Math.max(1, areaInside(hull));
}
