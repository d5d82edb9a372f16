import type { Photo } from "./photo.js";

export type PhotoFormat = Photo["format"];

/** What the first bytes say that a file is. File names promise nothing and are not asked. */
export type FormatGuess =
  | { readonly kind: "photo"; readonly format: PhotoFormat }
  /** A picture or document that is known but not read here; `name` is for people. */
  | { readonly kind: "foreign"; readonly name: string }
  | { readonly kind: "unknown" };

const photo = (format: PhotoFormat): FormatGuess => ({ kind: "photo", format });
const foreign = (name: string): FormatGuess => ({ kind: "foreign", name });

// Latin-1 keeps one character a byte, so signatures can be written as text.
const signatures: readonly (readonly [string, FormatGuess])[] = [
  ["\xff\xd8\xff", photo("jpeg")],
  ["\x89PNG\r\n\x1a\n", photo("png")],
  ["II*\0", photo("tiff")],
  ["MM\0*", photo("tiff")],
  ["II+\0", photo("tiff")],
  ["MM\0+", photo("tiff")],
  ["GIF8", foreign("a GIF picture")],
  ["BM", foreign("a BMP picture")],
  ["%PDF-", foreign("a PDF document")],
  ["8BPS", foreign("a layered picture of an image editor")],
  ["\xff\x0a", foreign("a JPEG XL picture")],
  ["\0\0\0\x0cJXL ", foreign("a JPEG XL picture")],
  ["\0\0\0\x0cjP  ", foreign("a JPEG 2000 picture")],
  ["FUJIFILM", foreign("a camera raw file")],
  ["II\x1a\0", foreign("a camera raw file")],
  ["IIRO", foreign("a camera raw file")],
  ["IIU\0", foreign("a camera raw file")],
];

/** Brands of ISO 14496-12 files whose pictures are coded with HEVC, as phones write them. */
const heicBrands = new Set(["heic", "heix", "hevc", "hevx", "mif1", "msf1"]);

export function guessFormat(bytes: Uint8Array): FormatGuess {
  const head = String.fromCharCode(...bytes.subarray(0, 16));
  if (head.startsWith("RIFF") && head.slice(8, 12) === "WEBP") return photo("webp");
  if (head.slice(4, 8) === "ftyp") {
    const brand = head.slice(8, 12);
    if (heicBrands.has(brand)) return photo("heic");
    if (brand === "avif" || brand === "avis") return foreign("an AVIF picture");
    if (brand === "crx ") return foreign("a camera raw file");
    return foreign("a video or another kind of media file");
  }
  for (const [signature, guess] of signatures) {
    if (!head.startsWith(signature)) continue;
    if (guess.kind === "photo" && guess.format === "tiff" && isCameraRaw(bytes))
      return foreign("a camera raw file");
    return guess;
  }
  return { kind: "unknown" };
}

/**
 * Many raw files are TIFF files whose first picture is a thumbnail; decoding that would pass for the photograph.
 * They are told by a reduced first picture (tag NewSubfileType) or by the raw format's version tag.
 * Source: TIFF revision 6.0, section 2, and the tag numbers of the DNG specification (from memory).
 */
function isCameraRaw(bytes: Uint8Array): boolean {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const little = bytes[0] === 0x49;
  if (bytes.length < 16 || view.getUint16(2, little) !== 42) return false;
  if (bytes[8] === 0x43 && bytes[9] === 0x52) return true;
  const at = view.getUint32(4, little);
  if (at + 2 > bytes.length) return false;
  const count = view.getUint16(at, little);
  for (let i = 0; i < count; i++) {
    const entry = at + 2 + 12 * i;
    if (entry + 12 > bytes.length) return false;
    const tag = view.getUint16(entry, little);
    if (tag === 0xc612) return true;
    if (tag === 0x00fe && (view.getUint32(entry + 8, little) & 1) === 1) return true;
  }
  return false;
}
