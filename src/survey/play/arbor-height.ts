import type { Point } from "../../parts/index.js";

/** Leans that differ by less than this say nothing of a height. */
const leastSpread = 0.01;

/**
 * How high the middle of what is seen of an arbor stands over the face, mm: it is seen at place + height x lean.
 *
 * @param seenMm where that middle is seen, from the centre of the tooth circle; @param leans of the same photographs.
 * @returns undefined where the camera stood in nearly the same place for all of them.
 */
export function arborHeightMm(seenMm: readonly Point[], leans: readonly Point[]): number | undefined {
  const [seen, lean] = [meanOf(seenMm), meanOf(leans)];
  let along = 0;
  let spread = 0;
  leans.forEach((l, k) => {
    const [dx, dy] = [l[0] - lean[0], l[1] - lean[1]];
    spread += dx ** 2 + dy ** 2;
    along += (seenMm[k]![0] - seen[0]) * dx + (seenMm[k]![1] - seen[1]) * dy;
  });
  return spread < leans.length * leastSpread ** 2 ? undefined : Math.max(0, along / spread);
}

const meanOf = (points: readonly Point[]): Point => [
  points.reduce((sum, p) => sum + p[0] / points.length, 0),
  points.reduce((sum, p) => sum + p[1] / points.length, 0),
];
