import { ok } from "../problem/index.js";
import type { Outcome } from "../problem/index.js";
import { checkPixelCount, damaged } from "./decoded.js";
import type { Decoded } from "./decoded.js";
import type { PhotoFormat } from "./guess-format.js";
import { loadSharp } from "./load-sharp.js";
import { readColourSteps } from "./read-colour-steps.js";

/**
 * JPEG, PNG, WebP, TIFF to upright sRGB, first page or frame only. Decodes once; the header is read before, and
 * costs no pixels.
 *
 * @param maxPixelCount width times height; checked in the header.
 * @returns pixels, or problem "image-too-large", "damaged-image".
 */
export async function decodeRaster(
  bytes: Uint8Array,
  format: PhotoFormat,
  maxPixelCount: number,
): Promise<Outcome<Decoded>> {
  const sharp = loadSharp();
  // Photographs run side by side, one thread each; libvips' cache would keep their pixels alive.
  sharp.concurrency(1);
  sharp.cache(false);
  let exif: Uint8Array | undefined;
  let colourHalved = false;
  try {
    const header = await sharp(bytes, { limitInputPixels: false }).metadata();
    const tooLarge = checkPixelCount(header.width, header.height, maxPixelCount);
    if (tooLarge) return tooLarge;
    exif = withoutExifPrefix(header.exif);
    // Lossy WebP knows no other way; JPEG says which.
    colourHalved = format === "webp" || /^4:(2|1)/.test(header.chromaSubsampling ?? "");
  } catch {
    return damaged(format);
  }
  const decode = (failOn: "warning" | "truncated") =>
    sharp(bytes, { failOn, autoOrient: true, limitInputPixels: false })
      .flatten({ background: "#ffffff" })
      .toColourspace("srgb")
      .raw({ depth: "uchar" })
      .toBuffer({ resolveWithObject: true });
  try {
    // Warnings count: a picture damaged in the middle decodes to half a grey one with nothing but a warning.
    const { data, info } = await decode("warning").catch((error: unknown) => {
      if (isHarmless(error)) return decode("truncated");
      throw error;
    });
    if (info.channels !== 3) return damaged(format);
    const rgb = new Uint8Array(data.buffer, data.byteOffset, data.byteLength);
    const colourSteps = format === "jpeg" ? readColourSteps(bytes) : undefined;
    return ok({
      widthPx: info.width,
      heightPx: info.height,
      rgb,
      colourHalved,
      ...(colourSteps !== undefined && { colourSteps }),
      ...(exif && { exif }),
    });
  } catch {
    return damaged(format);
  }
}

/** Warnings that some cameras and editors cause in every file they write, and that cost no pixel. */
const isHarmless = (error: unknown): boolean =>
  error instanceof Error &&
  error.message
    .split("\n")
    .every((line) =>
      /Invalid SOS parameters|Unknown Adobe color transform|extraneous bytes before marker 0xd9/.test(line),
    );

function withoutExifPrefix(exif: Uint8Array | undefined): Uint8Array | undefined {
  if (!exif) return undefined;
  const prefixed = exif[0] === 0x45 && exif[1] === 0x78 && exif[2] === 0x69 && exif[3] === 0x66;
  return prefixed ? exif.subarray(6) : exif;
}
