import type { FaceSampler } from "../face-sampler.js";
import type { Point } from "../part.js";
import { insideRuns } from "./inside-runs.js";

/** Something in a plate that is not its face: middle and size, local coordinates, mm. */
export interface HoleGuess {
  readonly xMm: number;
  readonly yMm: number;
  readonly areaMm2: number;
  /** Half of the larger side of its box. */
  readonly reachMm: number;
}

/** An outline is not looked at closer than this: bevel, burr, shade. */
const marginMm = 0.7;

/**
 * Patches inside an outline that are not face.
 *
 * @param isOpen what has just been read, at x and y, is no face.
 */
export function findHoles(
  sampler: FaceSampler,
  outline: readonly Point[],
  stepMm: number,
  isOpen: (xMm: number, yMm: number) => boolean,
): HoleGuess[] {
  const xs = outline.map((p) => p[0]);
  const ys = outline.map((p) => p[1]);
  const [x0, y0] = [Math.min(...xs), Math.min(...ys)];
  const columns = Math.ceil((Math.max(...xs) - x0) / stepMm) + 1;
  const rows = Math.ceil((Math.max(...ys) - y0) / stepMm) + 1;
  const open = new Uint8Array(rows * columns);
  for (let j = 0; j < rows; j++) {
    const y = y0 + j * stepMm;
    for (const [from, to] of insideRuns(outline, y)) {
      const a = Math.ceil((from + marginMm - x0) / stepMm);
      const b = Math.floor((to - marginMm - x0) / stepMm);
      for (let i = Math.max(0, a); i <= Math.min(columns - 1, b); i++) {
        const x = x0 + i * stepMm;
        if (sampler.at(x, y) && isOpen(x, y)) open[j * columns + i] = 1;
      }
    }
  }
  const found: HoleGuess[] = [];
  const stack: number[] = [];
  for (let start = 0; start < open.length; start++) {
    if (open[start] !== 1) continue;
    let [n, sx, sy] = [0, 0, 0];
    let [left, right, low, high] = [Infinity, -Infinity, Infinity, -Infinity];
    open[start] = 2;
    stack.push(start);
    while (stack.length > 0) {
      const cell = stack.pop()!;
      const j = Math.floor(cell / columns);
      const i = cell - j * columns;
      n++;
      sx += i;
      sy += j;
      left = Math.min(left, i);
      right = Math.max(right, i);
      low = Math.min(low, j);
      high = Math.max(high, j);
      for (const next of [cell - 1, cell + 1, cell - columns, cell + columns])
        if (open[next] === 1) {
          open[next] = 2;
          stack.push(next);
        }
    }
    found.push({
      xMm: x0 + (sx / n) * stepMm,
      yMm: y0 + (sy / n) * stepMm,
      areaMm2: n * stepMm * stepMm,
      reachMm: 0.5 * stepMm * (Math.max(right - left, high - low) + 1),
    });
  }
  return found;
}
