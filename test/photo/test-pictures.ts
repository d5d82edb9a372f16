/** Small generated pictures, whole and spoilt, for tests of everything that reads photographs. */
import sharp from "sharp";
import type { Sharp } from "sharp";
import { crc32 } from "node:zlib";

export type Rgb = readonly [number, number, number];

export const corners = {
  topLeft: [208, 32, 32],
  topRight: [32, 160, 32],
  bottomLeft: [32, 32, 208],
  bottomRight: [255, 255, 255],
} as const satisfies Record<string, Rgb>;

/** 96 x 64 px: red and green above, blue and white below. */
export const quarters = (): Sharp => {
  const at = (c: Rgb): string => `rgb(${c.join()})`;
  return sharp(
    Buffer.from(
      `<svg width="96" height="64"><rect width="96" height="64" fill="${at(corners.bottomRight)}"/>
       <rect width="48" height="32" fill="${at(corners.topLeft)}"/>
       <rect x="48" width="48" height="32" fill="${at(corners.topRight)}"/>
       <rect y="32" width="48" height="32" fill="${at(corners.bottomLeft)}"/></svg>`,
    ),
  ).removeAlpha();
};

/** A JPEG with plenty of detail, so that cutting it anywhere cuts pixels. */
export async function noisyJpeg(widthPx = 320, heightPx = 240): Promise<Buffer> {
  const rgb = Buffer.alloc(widthPx * heightPx * 3);
  let state = 12345;
  for (let i = 0; i < rgb.length; i++) {
    state = (Math.imul(state, 1103515245) + 12345) >>> 0;
    rgb[i] = state >>> 24;
  }
  return sharp(rgb, { raw: { width: widthPx, height: heightPx, channels: 3 } })
    .jpeg({ quality: 90 })
    .toBuffer();
}

/** A complete PNG header that promises `widthPx` x `heightPx` pixels, and next to no data. */
export function pngHeader(widthPx: number, heightPx: number): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(widthPx, 0);
  header.writeUInt32BE(heightPx, 4);
  header.set([8, 2, 0, 0, 0], 8);
  return Buffer.concat([
    Buffer.from("\x89PNG\r\n\x1a\n", "latin1"),
    chunk("IHDR", header),
    chunk("IDAT", Buffer.from([0x78, 0x9c, 3, 0, 0, 0, 0, 1])),
    chunk("IEND", Buffer.alloc(0)),
  ]);
}

function chunk(type: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(type, "latin1"), data]);
  const out = Buffer.alloc(body.length + 8);
  out.writeUInt32BE(data.length, 0);
  out.set(body, 4);
  out.writeUInt32BE(crc32(body), body.length + 4);
  return out;
}
