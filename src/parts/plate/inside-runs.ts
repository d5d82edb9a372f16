import type { Point } from "../part.js";

/** Where a level line is inside a closed polygon. */
export function insideRuns(outline: readonly Point[], y: number): [number, number][] {
  const cuts: number[] = [];
  outline.forEach((p, i) => {
    const q = outline[(i + 1) % outline.length]!;
    if (p[1] > y !== q[1] > y) cuts.push(p[0] + ((y - p[1]) / (q[1] - p[1])) * (q[0] - p[0]));
  });
  cuts.sort((a, b) => a - b);
  return Array.from({ length: cuts.length >> 1 }, (_, k) => [cuts[2 * k]!, cuts[2 * k + 1]!]);
}
