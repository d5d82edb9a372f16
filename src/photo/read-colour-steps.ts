/**
 * Mean of the lowest frequencies of the example table for colour, ITU-T T.81, table K.2, in its zigzag order (from
 * memory): what quality 50 of the usual encoders means.
 */
const exampleLow = [18, 18, 24, 21, 24, 47, 26, 26, 47, 99, 66, 56, 66, 99];
const exampleMean = exampleLow.reduce((a, b) => a + b, 0) / exampleLow.length;

/**
 * How coarsely a JPEG file stores the detail of colour: steps of its table for the second component over those of the
 * standard's example. 0.1 at quality 95 of the usual encoders, 0.5 at 75. Undefined if the file does not say.
 */
export function readColourSteps(bytes: Uint8Array): number | undefined {
  if (bytes[0] !== 0xff || bytes[1] !== 0xd8) return undefined;
  const tables = new Map<number, number>();
  let colourTable: number | undefined;
  for (let at = 2; at + 4 <= bytes.length && bytes[at] === 0xff;) {
    const marker = bytes[at + 1]!;
    // Fill bytes may stand before a marker.
    if (marker === 0xff) {
      at++;
      continue;
    }
    if (marker === 0xda) break;
    const end = at + 2 + (bytes[at + 2]! << 8) + bytes[at + 3]!;
    if (end > bytes.length) return undefined;
    if (marker === 0xdb) readTables(bytes, at + 4, end, tables);
    // Frame header: component n has its three bytes at 10 + 3 n, the table last.
    if (isFrame(marker) && end >= at + 16) colourTable = bytes[at + 15];
    at = end;
  }
  return colourTable === undefined ? undefined : tables.get(colourTable);
}

/** Baseline, extended and progressive frames. */
const isFrame = (marker: number): boolean => marker >= 0xc0 && marker <= 0xc2;

function readTables(bytes: Uint8Array, from: number, end: number, tables: Map<number, number>): void {
  let at = from;
  while (at < end) {
    const head = bytes[at]!;
    const width = head >> 4 === 0 ? 1 : 2;
    if (at + 1 + 64 * width > end) return;
    let sum = 0;
    for (let k = 1; k <= exampleLow.length; k++) {
      const step = at + 1 + k * width;
      sum += width === 1 ? bytes[step]! : (bytes[step]! << 8) + bytes[step + 1]!;
    }
    tables.set(head & 15, sum / exampleLow.length / exampleMean);
    at += 1 + 64 * width;
  }
}
