import { createHash } from "node:crypto";
import { constants } from "node:fs";
import { open } from "node:fs/promises";
import { failed, ok } from "../problem/index.js";
import type { Outcome } from "../problem/index.js";
import { decodeHeic } from "./decode-heic.js";
import { decodeRaster } from "./decode-raster.js";
import { guessFormat } from "./guess-format.js";
import type { Photo } from "./photo.js";
import { readCameraData } from "./read-camera-data.js";

export interface ReadPhotoOptions {
  /** Largest file, bytes; default 200 MB (200e6). */
  readonly maxByteCount?: number;
  /** Largest picture, width times height; default 120 megapixels (120e6). */
  readonly maxPixelCount?: number;
}

const defaults: Required<ReadPhotoOptions> = { maxByteCount: 200e6, maxPixelCount: 120e6 };

/**
 * Reads a photograph once and turns it into upright sRGB pixels. What the file is, is told by its content.
 *
 * @param path of a JPEG, PNG, WebP, TIFF or HEIC file; `file` of the result repeats it unchanged.
 * @returns the photograph, or problem "file-unreadable", "not-an-image", "unsupported-image",
 *   "image-too-large", "damaged-image".
 */
export async function readPhoto(path: string, options: ReadPhotoOptions = {}): Promise<Outcome<Photo>> {
  const bytes = await readFileOnce(path, options.maxByteCount ?? defaults.maxByteCount);
  return bytes.ok ? readPhotoBytes(bytes.value, path, options) : bytes;
}

/** As `readPhoto`, from bytes already in memory; `file` is only a name. */
export async function readPhotoBytes(
  bytes: Uint8Array,
  file: string,
  options: ReadPhotoOptions = {},
): Promise<Outcome<Photo>> {
  const maxPixelCount = options.maxPixelCount ?? defaults.maxPixelCount;
  const guess = guessFormat(bytes);
  if (guess.kind === "unknown")
    return failed(
      "not-an-image",
      bytes.length === 0 ? "the file is empty" : "the file is not a picture, whatever its name says",
      "give a photograph as JPEG, PNG, WebP, TIFF or HEIC",
    );
  if (guess.kind === "foreign")
    return failed(
      "unsupported-image",
      `the file is ${guess.name}; expected JPEG, PNG, WebP, TIFF or HEIC`,
      "export the photograph as JPEG in its full size and give that file",
    );
  const { format } = guess;
  const decoding =
    format === "heic" ? decodeHeic(bytes, maxPixelCount) : decodeRaster(bytes, format, maxPixelCount);
  // Hashed on this thread while the decoder works on its own.
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  const decoded = await decoding;
  if (!decoded.ok) return decoded;
  const { widthPx, heightPx, rgb, colourHalved, colourSteps } = decoded.value;
  const exif = format === "tiff" ? bytes : decoded.value.exif;
  const cameraData = exif ? await readCameraData(exif) : {};
  return ok({
    file,
    byteCount: bytes.length,
    sha256,
    format,
    widthPx,
    heightPx,
    rgb,
    colourHalved,
    ...(colourSteps !== undefined && { colourSteps }),
    cameraData,
  });
}

async function readFileOnce(path: string, maxByteCount: number): Promise<Outcome<Uint8Array>> {
  try {
    // Without O_NONBLOCK, opening a named pipe would wait for ever for somebody to write.
    const handle = await open(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
    try {
      const stat = await handle.stat();
      if (stat.isDirectory())
        return failed("file-unreadable", "this is a folder, not a photograph", "give the files inside it");
      if (!stat.isFile())
        return failed("file-unreadable", "this is not an ordinary file", "give a photograph");
      if (stat.size > maxByteCount)
        return failed(
          "image-too-large",
          `the file has ${Math.ceil(stat.size / 1e6)} MB; expected at most ${Math.round(maxByteCount / 1e6)} MB`,
          "export the photograph as JPEG and give that file",
        );
      return ok(await handle.readFile());
    } finally {
      await handle.close();
    }
  } catch (error) {
    return failed(
      "file-unreadable",
      unreadableText(error),
      "check the name and whether the file may be read",
    );
  }
}

function unreadableText(error: unknown): string {
  const code = error instanceof Error && "code" in error ? error.code : undefined;
  switch (code) {
    case "ENOENT":
    case "ENOTDIR":
      return "there is no such file";
    case "EACCES":
    case "EPERM":
      return "the file may not be read by you";
    case "ENAMETOOLONG":
      return "the file name is too long";
    case "ERR_INVALID_ARG_VALUE":
      return "the file name contains a zero character";
    default:
      return `the file cannot be read${typeof code === "string" ? ` (${code})` : ""}`;
  }
}
