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
  const flip = 255 - value;
  for (let j = 0, p = 0; j < height; j++) {
    const above = j > 0 ? width : 0;
    const below = j < height - 1 ? width : 0;
    for (let i = 0; i < width; i++, p++) {
      const left = i > 0 ? 1 : 0;
      const right = i < width - 1 ? 1 : 0;
      out[p] =
        ((mask[p]! ^ flip) |
          (mask[p - left]! ^ flip) |
          (mask[p + right]! ^ flip) |
          (mask[p - above]! ^ flip) |
          (mask[p + below]! ^ flip)) ^
        flip;
    }
  }
  return out;
}
