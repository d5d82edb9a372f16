import { failed, type Problem } from "../problem/index.js";
import type { SeenTag } from "../view/index.js";
import type { Point } from "./part.js";

interface Placed {
  readonly centrePx: Point;
  readonly radiusPx: number;
}

/** Tags of the cards TURN and PLAY speak of the photograph, not of a part. */
const isPartLabel = (label: string): boolean => /^[A-Z]\d+$/.test(label);

/** Nearly as near counts as ambiguous. */
const clearlyNearer = 1.3;

/**
 * Gives every part the nearest tag. Distance is from the tag to the rim, so that a large wheel does not lose its tag
 * to a small neighbour. A tag serves one part.
 */
export function labelParts(
  parts: readonly Placed[],
  seenTags: readonly SeenTag[],
): { readonly labels: readonly (string | undefined)[]; readonly problems: readonly Problem[] } {
  const labels: (string | undefined)[] = parts.map(() => undefined);
  const problems: Problem[] = [];
  const tags = seenTags.filter((tag) => isPartLabel(tag.label));
  const pairs = tags
    .flatMap((tag) =>
      parts.map((part, i) => {
        const [u, v] = tag.centrePx;
        return {
          tag,
          i,
          gap: Math.max(0, Math.hypot(u - part.centrePx[0], v - part.centrePx[1]) - part.radiusPx),
        };
      }),
    )
    .sort((a, b) => a.gap - b.gap);
  const used = new Set<SeenTag>();
  for (const { tag, i, gap } of pairs) {
    if (used.has(tag) || labels[i] !== undefined) continue;
    labels[i] = tag.label;
    used.add(tag);
    const rival = pairs.find((p) => p.tag === tag && p.i !== i);
    if (rival !== undefined && rival.gap < clearlyNearer * gap)
      problems.push(
        failed(
          "tag-ambiguous",
          `tag ${tag.label} lies between two parts; the nearer one was taken`,
          `lay ${tag.label} close to its own part and away from others`,
        ).problem,
      );
  }
  const twice = [...new Set(tags.map((t) => t.label))].filter(
    (l) => tags.filter((t) => t.label === l).length > 1,
  );
  for (const label of twice)
    problems.push(
      failed("tag-ambiguous", `tag ${label} is in the picture twice`, "use each tag once in a photograph")
        .problem,
    );
  return { labels, problems };
}
