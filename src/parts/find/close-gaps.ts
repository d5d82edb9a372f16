/**
 * Closes gaps of a pixel in a mask: every pixel is spread to its four neighbours, then the edge taken back by as much.
 * Beyond the picture nothing is assumed.
 *
 * @param mask 255 or 0 each. @returns a new mask.
 */
export function closeGaps(mask: Uint8Array, width: number, height: number): Uint8Array {
  return spread(spread(mask, width, height, 255), width, height, 0);
}

/** Spreads what has this value to its neighbours. */
function spread(mask: Uint8Array, width: number, height: number, value: 0 | 255): Uint8Array {
  const out = new Uint8Array(mask.length);
  for (let j = 0; j < height; j++) {
    const first = j * width;
    const last = first + width - 1;
    const above = j > 0 ? width : 0;
    const below = j < height - 1 ? width : 0;
    const right = width > 1 ? 1 : 0;
    if (value === 255) {
      for (let p = first + 1; p < last; p++)
        out[p] = mask[p]! | mask[p - 1]! | mask[p + 1]! | mask[p - above]! | mask[p + below]!;
      out[first] = mask[first]! | mask[first + right]! | mask[first - above]! | mask[first + below]!;
      out[last] = mask[last]! | mask[last - right]! | mask[last - above]! | mask[last + below]!;
    } else {
      for (let p = first + 1; p < last; p++)
        out[p] = mask[p]! & mask[p - 1]! & mask[p + 1]! & mask[p - above]! & mask[p + below]!;
      out[first] = mask[first]! & mask[first + right]! & mask[first - above]! & mask[first + below]!;
      out[last] = mask[last]! & mask[last - right]! & mask[last - above]! & mask[last + below]!;
    }
  }
  return out;
}
