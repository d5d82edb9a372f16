import type { Point } from "../part.js";
import type { OnPlane } from "./read-on-plane.js";

/**
 * What is seen at the middles of the cells of a square, row by row. The one loop for all of them: V8 compiles it with all that it
 * calls, and would do so again for every other such loop.
 */
export function sampleSquare(at: OnPlane, [midX, midY]: Point, side: number, cellMm: number): Float32Array {
  const seen = new Float32Array(side * side);
  for (let j = 0; j < side; j++)
    sampleRow(at, midX, midY + fromMiddle(j, side, cellMm), seen.subarray(j * side, (j + 1) * side), cellMm);
  return seen;
}

/** Of the middle of a cell, mm. */
export const fromMiddle = (i: number, side: number, cellMm: number): number => (i + 0.5 - side / 2) * cellMm;

function sampleRow(at: OnPlane, midX: number, y: number, row: Float32Array, cellMm: number): void {
  for (let i = 0; i < row.length; i++) row[i] = at(midX + fromMiddle(i, row.length, cellMm), y);
}
