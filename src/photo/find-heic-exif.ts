/**
 * EXIF block (TIFF structure) of a HEIC file, by its item list (iinf) and item locations (iloc).
 * General EXIF readers follow only the way one maker writes them.
 *
 * @returns undefined where there is none or the boxes make no sense.
 * Source: ISO/IEC 14496-12 (meta, iinf, infe, iloc) and 23008-12 annex A (Exif item), from memory.
 */
export function findHeicExif(bytes: Uint8Array): Uint8Array | undefined {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  try {
    const meta = findBox(view, "meta", 0, view.byteLength);
    if (!meta) return undefined;
    const info = findBox(view, "iinf", meta.from + 4, meta.to);
    const locations = findBox(view, "iloc", meta.from + 4, meta.to);
    if (!info || !locations) return undefined;
    const id = exifItemId(view, info);
    const at = id === undefined ? undefined : itemOffset(view, locations, id);
    if (at === undefined) return undefined;
    // The item begins with the distance from here to the TIFF header (6 where "Exif" and two zeros come first).
    const tiffAt = at + 4 + view.getUint32(at);
    return tiffAt + 8 <= bytes.length ? bytes.subarray(tiffAt) : undefined;
  } catch {
    // Reading past the end: the boxes lie about their lengths.
    return undefined;
  }
}

/** Content of a box, after its size and type. */
interface Box {
  readonly from: number;
  readonly to: number;
}

function findBox(view: DataView, type: string, from: number, to: number): Box | undefined {
  for (const [name, box] of boxes(view, from, to)) if (name === type) return box;
  return undefined;
}

function* boxes(view: DataView, from: number, to: number): Generator<[string, Box]> {
  for (let at = from; at + 8 <= to;) {
    const short = view.getUint32(at);
    const size = short === 1 ? Number(view.getBigUint64(at + 8)) : short === 0 ? to - at : short;
    const head = short === 1 ? 16 : 8;
    if (size < head) return;
    yield [fourLetters(view, at + 4), { from: at + head, to: Math.min(at + size, to) }];
    at += size;
  }
}

const fourLetters = (view: DataView, at: number): string =>
  String.fromCharCode(view.getUint8(at), view.getUint8(at + 1), view.getUint8(at + 2), view.getUint8(at + 3));

function exifItemId(view: DataView, info: Box): number | undefined {
  const countBytes = view.getUint8(info.from) === 0 ? 2 : 4;
  for (const [name, entry] of boxes(view, info.from + 4 + countBytes, info.to)) {
    const version = view.getUint8(entry.from);
    if (name !== "infe" || version < 2) continue;
    const idBytes = version === 2 ? 2 : 4;
    if (fourLetters(view, entry.from + 4 + idBytes + 2) === "Exif")
      return readUint(view, entry.from + 4, idBytes);
  }
  return undefined;
}

function itemOffset(view: DataView, locations: Box, wantedId: number): number | undefined {
  const version = view.getUint8(locations.from);
  const idBytes = version < 2 ? 2 : 4;
  const sizes = view.getUint16(locations.from + 4);
  const [offsetBytes, lengthBytes, baseBytes] = [sizes >> 12, (sizes >> 8) & 15, (sizes >> 4) & 15];
  const indexBytes = version === 0 ? 0 : sizes & 15;
  let at = locations.from + 6;
  const count = readUint(view, at, idBytes);
  at += idBytes;
  for (let i = 0; i < count; i++) {
    const id = readUint(view, at, idBytes);
    at += idBytes;
    // Method 0 counts from the start of the file; the others are not used for EXIF.
    const method = version === 0 ? 0 : view.getUint16(at) & 15;
    at += (version === 0 ? 0 : 2) + 2;
    const base = readUint(view, at, baseBytes);
    at += baseBytes;
    const extents = view.getUint16(at);
    at += 2;
    if (id === wantedId)
      return method === 0 && extents > 0 ? base + readUint(view, at + indexBytes, offsetBytes) : undefined;
    at += extents * (indexBytes + offsetBytes + lengthBytes);
  }
  return undefined;
}

function readUint(view: DataView, at: number, byteCount: number): number {
  let value = 0;
  for (let i = 0; i < byteCount; i++) value = 256 * value + view.getUint8(at + i);
  return value;
}
