import { InputError } from "../../problem/index.js";
import { readPhoto, type Photo } from "../../photo/index.js";
import type { PhotoRecord } from "../../record/index.js";
import { shownText } from "../shown-text.js";
import { drawOverlay } from "./overlay.js";

/**
 * The photograph, upright, with its marks burnt in: a JPEG without any metadata (no place, no serial number).
 *
 * @param photo path, or pixels that are decoded already.
 * @throws InputError if the file cannot be read as a photograph, or is not the one that was measured.
 */
export async function drawAnnotatedPhoto(photo: string | Photo, record: PhotoRecord): Promise<Buffer> {
  const { default: sharp } = await import("sharp");
  const pixels = typeof photo === "string" ? await pixelsOf(photo) : photo;
  const { widthPx, heightPx } = pixels;
  if (widthPx !== record.width_px || heightPx !== record.height_px)
    throw new InputError(
      `${shownText(pixels.file)}: ${widthPx} x ${heightPx} px, but measured at ` +
        `${record.width_px} x ${record.height_px} px; measure the photograph again`,
    );
  return sharp(pixels.rgb, { raw: { width: widthPx, height: heightPx, channels: 3 } })
    .composite([{ input: Buffer.from(drawOverlay(record)), top: 0, left: 0 }])
    .jpeg({ quality: 88, chromaSubsampling: "4:4:4" })
    .toBuffer();
}

async function pixelsOf(path: string): Promise<Photo> {
  const photo = await readPhoto(path);
  if (photo.ok) return photo.value;
  throw new InputError(`${shownText(path)}: ${photo.problem.text}; ${photo.problem.advice}`);
}
