/**
 * Closes gaps of a pixel in a mask: every pixel is spread to its four neighbours, then the edge taken back by as much.
 * Beyond the picture nothing is assumed.
 *
 * @param mask 255 or 0 each. @returns a new mask.
 */
export function closeGaps(mask: Uint8Array, width: number, height: number): Uint8Array {
  return eroded(spread(mask, width, height), width, height);
}

function spread(mask: Uint8Array, width: number, height: number): Uint8Array {
  const out = mask.slice();
  for (let j = 0, p = 0; j < height; j++)
    for (let i = 0; i < width; i++, p++) {
      if (mask[p] === 0) continue;
      if (i > 0) out[p - 1] = 255;
      if (i < width - 1) out[p + 1] = 255;
      if (j > 0) out[p - width] = 255;
      if (j < height - 1) out[p + width] = 255;
    }
  return out;
}

function eroded(mask: Uint8Array, width: number, height: number): Uint8Array {
  const out = mask.slice();
  for (let j = 0, p = 0; j < height; j++)
    for (let i = 0; i < width; i++, p++) {
      if (mask[p] !== 0) continue;
      if (i > 0) out[p - 1] = 0;
      if (i < width - 1) out[p + 1] = 0;
      if (j > 0) out[p - width] = 0;
      if (j < height - 1) out[p + width] = 0;
    }
  return out;
}
