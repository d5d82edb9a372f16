import { ok } from "../problem/index.js";
import type { Outcome } from "../problem/index.js";
import { checkPixelCount, damaged } from "./decoded.js";
import type { Decoded } from "./decoded.js";
import { findHeicExif } from "./find-heic-exif.js";
import { loadSharp } from "./load-sharp.js";

interface HeicPicture {
  readonly width: number;
  readonly height: number;
  decode(): Promise<{ readonly width: number; readonly height: number; readonly data: Uint8ClampedArray }>;
}
type HeicPictures = readonly HeicPicture[] & { dispose(): void };
interface HeicDecode {
  all(input: { readonly buffer: Uint8Array }): Promise<HeicPictures>;
}

/**
 * HEIC/HEIF to upright sRGB, first picture only. The decoder applies the file's own rotation and mirroring
 * (irot, imir); the EXIF orientation repeats them and must not be applied again.
 *
 * @returns pixels, or problem "image-too-large", "damaged-image".
 */
export async function decodeHeic(bytes: Uint8Array, maxPixelCount: number): Promise<Outcome<Decoded>> {
  // @ts-expect-error no types are published for this package
  const { default: heic } = (await import("heic-decode")) as { default: HeicDecode };
  const talk = hush();
  let pictures: HeicPictures | undefined;
  try {
    pictures = await heic.all({ buffer: bytes });
    const first = pictures[0];
    if (!first) return damaged("heic");
    const tooLarge = checkPixelCount(first.width, first.height, maxPixelCount);
    if (tooLarge) return tooLarge;
    const { width, height, data } = await first.decode();
    const rgb = flattenOnWhite(data, width * height);
    const profile = findIccProfile(bytes);
    const exif = findHeicExif(bytes);
    return ok({
      colourHalved: true,
      widthPx: width,
      heightPx: height,
      rgb: profile ? await srgbFrom(rgb, width, height, profile) : rgb,
      ...(exif && { exif }),
    });
  } catch {
    return damaged("heic");
  } finally {
    pictures?.dispose();
    talk.restore();
  }
}

let hushed = 0;
let spoken: Pick<Console, "log" | "warn" | "error">;

/** The decoder writes its complaints to stdout, in the middle of our results. Calls may overlap. */
function hush(): { restore(): void } {
  const { log, warn, error } = console;
  const silent = (): void => undefined;
  if (hushed++ === 0) {
    spoken = { log, warn, error };
    Object.assign(console, { log: silent, warn: silent, error: silent });
  }
  return {
    restore: () => {
      if (--hushed === 0) Object.assign(console, spoken);
    },
  };
}

function flattenOnWhite(rgba: Uint8ClampedArray, pixelCount: number): Uint8Array {
  const rgb = new Uint8Array(3 * pixelCount);
  for (let i = 0, from = 0, to = 0; i < pixelCount; i++, from += 4, to += 3) {
    const alpha = rgba[from + 3]!;
    if (alpha === 255) {
      rgb[to] = rgba[from]!;
      rgb[to + 1] = rgba[from + 1]!;
      rgb[to + 2] = rgba[from + 2]!;
    } else {
      for (let c = 0; c < 3; c++)
        rgb[to + c] = Math.round((rgba[from + c]! * alpha + 255 * (255 - alpha)) / 255);
    }
  }
  return rgb;
}

/**
 * ICC profile of the file's first colour box ("colr" of type "prof"), which the decoder leaves unapplied: phones
 * write wide-gamut pictures.
 */
function findIccProfile(bytes: Uint8Array): Uint8Array | undefined {
  const buffer = Buffer.from(bytes.buffer, bytes.byteOffset, Math.min(bytes.byteLength, 1 << 20));
  const at = buffer.indexOf("colrprof", 4, "latin1");
  if (at < 4) return undefined;
  const profile = bytes.subarray(at + 8, at - 4 + buffer.readUInt32BE(at - 4));
  // "acsp" at byte 36 marks every ICC profile (ICC.1, 7.2).
  const isProfile =
    profile.length > 128 && Buffer.from(profile.subarray(36, 40)).toString("latin1") === "acsp";
  return isProfile ? profile : undefined;
}

/** Wraps the pixels as a plain TIFF with the profile inside (tag 34675), and lets sharp convert them. */
async function srgbFrom(
  rgb: Uint8Array,
  width: number,
  height: number,
  profile: Uint8Array,
): Promise<Uint8Array> {
  const short = 3;
  const long = 4;
  const pixelsAt = 8;
  const bitsAt = pixelsAt + rgb.length;
  const profileAt = bitsAt + 6;
  const entriesAt = profileAt + profile.length + (profile.length % 2) + (rgb.length % 2);
  const entries: readonly (readonly [tag: number, type: number, count: number, value: number])[] = [
    [256, long, 1, width],
    [257, long, 1, height],
    [258, short, 3, bitsAt],
    [259, short, 1, 1],
    [262, short, 1, 2],
    [273, long, 1, pixelsAt],
    [277, short, 1, 3],
    [278, long, 1, height],
    [279, long, 1, rgb.length],
    [34675, 7, profile.length, profileAt],
  ];
  const tiff = Buffer.alloc(entriesAt + 2 + 12 * entries.length + 4);
  tiff.write("II*\0", "latin1");
  tiff.writeUInt32LE(entriesAt, 4);
  tiff.set(rgb, pixelsAt);
  for (let i = 0; i < 3; i++) tiff.writeUInt16LE(8, bitsAt + 2 * i);
  tiff.set(profile, profileAt);
  tiff.writeUInt16LE(entries.length, entriesAt);
  entries.forEach(([tag, type, count, value], i) => {
    const at = entriesAt + 2 + 12 * i;
    tiff.writeUInt16LE(tag, at);
    tiff.writeUInt16LE(type, at + 2);
    tiff.writeUInt32LE(count, at + 4);
    tiff.writeUInt32LE(value, at + 8);
  });
  const sharp = loadSharp();
  sharp.concurrency(1);
  sharp.cache(false);
  const data = await sharp(tiff, { limitInputPixels: false })
    .toColourspace("srgb")
    .raw({ depth: "uchar" })
    .toBuffer();
  return new Uint8Array(data.buffer, data.byteOffset, data.byteLength);
}
