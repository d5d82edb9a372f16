type Point = readonly [number, number];

/** How far from the true centre a part may be found, as a share of the tip diameter. */
export const farthestShare = 0.25;

/**
 * Pairs wheels with the parts that were found where they lie: nearest pairs first, each wheel and each part once.
 *
 * @param wheels true centre and tip diameter, px.
 * @param parts centres found, px.
 * @returns for every wheel the index of its part, or undefined: it was missed. Parts in no pair are false.
 */
export function matchParts(
  wheels: readonly { readonly centrePx: Point; readonly tipDiameterPx: number }[],
  parts: readonly { readonly centrePx: Point }[],
): (number | undefined)[] {
  const pairs = wheels.flatMap((wheel, w) =>
    parts.map(({ centrePx: [u, v] }, p) => ({
      w,
      p,
      share: Math.hypot(u - wheel.centrePx[0], v - wheel.centrePx[1]) / wheel.tipDiameterPx,
    })),
  );
  const partOf: (number | undefined)[] = wheels.map(() => undefined);
  const taken = new Set<number>();
  for (const { w, p, share } of pairs.sort((a, b) => a.share - b.share)) {
    if (share >= farthestShare || partOf[w] !== undefined || taken.has(p)) continue;
    partOf[w] = p;
    taken.add(p);
  }
  return partOf;
}
