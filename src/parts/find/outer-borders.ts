/** Steps to the eight neighbours, counter-clockwise as seen in the picture, from the right-hand one. */
const stepX = [1, 1, 0, -1, -1, -1, 0, 1] as const;
const stepY = [0, -1, -1, -1, 0, 1, 1, 1] as const;

const unseen = 1;
/** Of a border that was followed: pixels whose right-hand neighbour is empty are told apart. */
const followed = 2;
const followedRight = 3;

/**
 * Outer borders of the connected patches (eight neighbours) of a mask, pixel by pixel: x0, y0, x1, y1 ... from the
 * first pixel that a line-by-line search meets, down its left side. Holes, and patches inside them, have none of their
 * own. The last patch met comes first.
 *
 * Source: S. Suzuki, K. Abe, Topological structural analysis of digitized binary images by border following, 1985
 * (from memory), outermost borders only.
 */
export function outerBorders(mask: Uint8Array, width: number, height: number): Int32Array[] {
  // An empty frame spares looking whether a neighbour is in the picture.
  const wide = width + 2;
  const state = new Uint8Array(wide * (height + 2));
  for (let j = 0; j < height; j++)
    for (let i = 0; i < width; i++) if (mask[j * width + i] !== 0) state[(j + 1) * wide + i + 1] = unseen;
  const steps = Int32Array.from(stepX, (x, k) => x + wide * stepY[k]!);
  const borders: Int32Array[] = [];
  for (let j = 1; j <= height; j++) {
    // Between the left and the right side of a border that was followed, everything is inside it.
    let isInside = false;
    let before = 0;
    for (let p = j * wide + 1; p < j * wide + 1 + width; p++) {
      const here = state[p]!;
      if (here === unseen && before === 0 && !isInside) {
        borders.push(follow(state, p, steps, wide));
        isInside = state[p] !== followedRight;
      } else if (here >= followed) isInside = here !== followedRight;
      before = here;
    }
  }
  return borders.reverse();
}

/** Follows one outer border from its first pixel, marking it. */
function follow(state: Uint8Array, start: number, steps: Int32Array, wide: number): Int32Array {
  const points: number[] = [];
  const put = (p: number): void => void points.push((p % wide) - 1, Math.floor(p / wide) - 1);
  // The last pixel of the border: the first neighbour met clockwise from the left-hand one.
  let s = 4;
  do s = (s - 1) & 7;
  while (state[start + steps[s]!] === 0 && s !== 4);
  if (s === 4) {
    state[start] = followedRight;
    put(start);
    return Int32Array.from(points);
  }
  const last = start + steps[s]!;
  let at = start;
  for (;;) {
    const from = s;
    let next: number;
    do {
      s = (s + 1) & 7;
      next = at + steps[s]!;
    } while (state[next] === 0);
    // The right-hand neighbour was looked at on the way, and is empty.
    if (s !== 0 && s - 1 < from) state[at] = followedRight;
    else if (state[at] === unseen) state[at] = followed;
    put(at);
    if (next === start && at === last) break;
    at = next;
    s = (s + 4) & 7;
  }
  return Int32Array.from(points);
}
