import { createReadStream } from "node:fs";
import { stat } from "node:fs/promises";
import { join } from "node:path";
import { Readable } from "node:stream";
import { readFile } from "node:fs/promises";
import { readPhoto } from "../../photo/index.js";
import { pictureFormat } from "./names.js";
import type { FolderServices } from "./folder-services.js";
import { PageError } from "./page-error.js";
import type { PhotoFile } from "./survey-folder.js";

/** Longest side of the copies; "full" is the original where a browser can show it. */
export const pictureSizes = { small: 320, middle: 1600, full: 0 } as const;
export type PictureSize = keyof typeof pictureSizes;

/** What may be shown from where it lies. */
const shownAsIs = { jpeg: "image/jpeg", png: "image/png", webp: "image/webp" } as const;

/**
 * A picture of a photograph, upright. Copies carry no metadata and are kept in `folder` under the check-sum of the
 * original.
 *
 * @throws PageError "not-found" if the file shows no picture.
 */
export async function pictureOf(
  file: PhotoFile,
  sha256: string,
  size: PictureSize,
  folder: string,
  services: FolderServices,
): Promise<Response> {
  const head = await headOf(file.path);
  const format = pictureFormat(head);
  const headers = { "cache-control": "private, max-age=31536000, immutable" };
  if (size === "full" && format !== undefined && format in shownAsIs) {
    const { size: length } = await stat(file.path);
    const type = shownAsIs[format as keyof typeof shownAsIs];
    const stream = Readable.toWeb(createReadStream(file.path)) as ReadableStream;
    return new Response(stream, {
      headers: { ...headers, "content-type": type, "content-length": String(length) },
    });
  }
  const kept = join(folder, `${sha256.slice(0, 32)}-${size}.jpg`);
  const jpeg = await readFile(kept).catch(() => undefined);
  const data = jpeg ?? (await makeCopy(file.path, size, format));
  if (!jpeg) await services.writeWhole(kept, data);
  return new Response(new Uint8Array(data), { headers: { ...headers, "content-type": "image/jpeg" } });
}

/** A photograph made small enough to be looked at quickly, as the phone makes its frames. */
export async function frameOf(path: string): Promise<Uint8Array> {
  return makeCopy(path, "middle", pictureFormat(await headOf(path)));
}

async function headOf(path: string): Promise<Uint8Array> {
  const stream = createReadStream(path, { end: 15 });
  const chunks: Buffer[] = [];
  for await (const chunk of stream) chunks.push(chunk as Buffer);
  return Buffer.concat(chunks);
}

/** One after the other: each takes the memory of a whole photograph. */
let last: Promise<unknown> = Promise.resolve();

function makeCopy(
  path: string,
  size: PictureSize,
  format: ReturnType<typeof pictureFormat>,
): Promise<Buffer> {
  const made = last.then(() => copyOf(path, size, format));
  last = made.catch(() => undefined);
  return made;
}

async function copyOf(
  path: string,
  size: PictureSize,
  format: ReturnType<typeof pictureFormat>,
): Promise<Buffer> {
  const { default: sharp } = await import("sharp");
  const longest = pictureSizes[size];
  const resize = longest === 0 ? {} : { width: longest, height: longest };
  try {
    // Small copies of what sharp reads itself are made while decoding, which takes a tenth of the time.
    const input =
      format === "heic" || format === undefined
        ? await pixelsOf(path)
        : sharp(path, { limitInputPixels: 120e6, failOn: "none" }).rotate();
    return await input
      .resize({ ...resize, fit: "inside", withoutEnlargement: true })
      .jpeg({ quality: size === "small" ? 72 : 86 })
      .toBuffer();
  } catch (cause) {
    if (cause instanceof PageError) throw cause;
    throw new PageError("not-found", "this file shows no picture");
  }
}

async function pixelsOf(path: string) {
  const { default: sharp } = await import("sharp");
  const photo = await readPhoto(path);
  if (!photo.ok) throw new PageError("not-found", photo.problem.text);
  const { rgb, widthPx: width, heightPx: height } = photo.value;
  return sharp(rgb, { raw: { width, height, channels: 3 } });
}
