import { inflateSync } from "node:zlib";

/**
 * Unpacks a WOFF 1.0 file into the plain font that is inside. The font library can read WOFF itself, but unpacks
 * a table anew each time it looks into it.
 *
 * @throws RangeError if the data is no WOFF file.
 * Source: W3C Recommendation "WOFF File Format 1.0", sections 3 and 4 (from memory).
 */
export function ttfFromWoff(woff: Buffer): Buffer {
  if (woff.length < 44 || woff.toString("latin1", 0, 4) !== "wOFF")
    throw new RangeError("expected a WOFF file");
  const flavor = woff.readUInt32BE(4);
  const count = woff.readUInt16BE(12);
  const tables = Array.from({ length: count }, (_, i) => {
    const at = 44 + 20 * i;
    const [tag, offset, packed, length, checkSum] = [0, 4, 8, 12, 16].map((o) => woff.readUInt32BE(at + o));
    const data = woff.subarray(offset, offset! + packed!);
    return { tag: tag!, checkSum: checkSum!, data: packed! < length! ? inflateSync(data) : data };
  });
  const headLength = 12 + 16 * count;
  const padded = (length: number): number => (length + 3) & ~3;
  const font = Buffer.alloc(tables.reduce((sum, { data }) => sum + padded(data.length), headLength));
  const power = Math.floor(Math.log2(count));
  font.writeUInt32BE(flavor, 0);
  font.writeUInt16BE(count, 4);
  font.writeUInt16BE(16 * 2 ** power, 6);
  font.writeUInt16BE(power, 8);
  font.writeUInt16BE(16 * (count - 2 ** power), 10);
  let offset = headLength;
  tables.forEach(({ tag, checkSum, data }, i) => {
    const at = 12 + 16 * i;
    font.writeUInt32BE(tag, at);
    font.writeUInt32BE(checkSum, at + 4);
    font.writeUInt32BE(offset, at + 8);
    font.writeUInt32BE(data.length, at + 12);
    data.copy(font, offset);
    offset += padded(data.length);
  });
  return font;
}
