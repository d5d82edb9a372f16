import type { Picture } from "../pictures.js";
import type { Extremes } from "./extremes.js";
import type { FaceRaster } from "./face-raster.js";
import { inTwoTints } from "./two-tints.js";

/** A square region about the arbor: middle (y up) and half a side, mm. */
export interface Region {
  readonly xMm: number;
  readonly yMm: number;
  readonly halfMm: number;
}

/** Three squares in one picture: the whole wheel, and beside it rim and arbor, larger. Units of the figure. */
export const layout = {
  width: 1000,
  height: 660,
  whole: { x: 0, y: 0, side: 660 },
  rim: { x: 680, y: 0, side: 320 },
  arbor: { x: 680, y: 340, side: 320 },
} as const;

export interface LaidOver {
  readonly extremes: Extremes;
  readonly whole: Region;
  readonly rim: Region;
  readonly arbor: Region;
  readonly picture: Picture;
}

/** So much around the wheel is shown with it. */
export const reachOf = ({ tipRadiusMm }: Extremes): number => 1.12 * tipRadiusMm;

/** The movement takes this share of the picture of the rim, as far as the photograph is fine enough for that. */
const shareMoved = 1 / 18;
const fewestPxAcross = 70;

/** Lays two views of the face over each other; the bytes of the picture are at most `bytes`. */
export async function layOver(
  extremes: Extremes,
  first: FaceRaster,
  second: FaceRaster,
  bytes: number,
): Promise<LaidOver> {
  const { tipRadiusMm, rootRadiusMm, teeth, movedMm } = extremes;
  const { mmPerPx } = first;
  const pitchMm = (2 * Math.PI * tipRadiusMm) / teeth;
  const rimHalfMm = Math.min(
    0.35 * tipRadiusMm,
    Math.max(movedMm / shareMoved / 2, 0.9 * pitchMm, 0.8 * (tipRadiusMm - rootRadiusMm), (fewestPxAcross * mmPerPx) / 2),
  ); // prettier-ignore
  const whole = { xMm: 0, yMm: 0, halfMm: reachOf(extremes) };
  const rim = placeOfRim(first, second, (tipRadiusMm + rootRadiusMm) / 2, rimHalfMm);
  const arbor = { xMm: 0, yMm: 0, halfMm: 0.25 * tipRadiusMm };
  const rgb = inTwoTints(first, second);
  return { extremes, whole, rim, arbor, picture: await composed(rgb, first, { whole, rim, arbor }, bytes) };
}

const spots = 48;

/** Where on the rim the two differ most: there the movement is best seen. */
function placeOfRim(first: FaceRaster, second: FaceRaster, radiusMm: number, halfMm: number): Region {
  let best = { difference: -1, xMm: radiusMm, yMm: 0 };
  for (let k = 0; k < spots; k++) {
    const angle = (2 * Math.PI * k) / spots;
    const [xMm, yMm] = [radiusMm * Math.cos(angle), radiusMm * Math.sin(angle)];
    const box = boxOf(first, { xMm, yMm, halfMm });
    let sum = 0;
    let unseen = 0;
    for (let j = box.top; j < box.top + box.side; j++)
      for (let i = box.left; i < box.left + box.side; i++) {
        const p = j * first.size + i;
        if (first.seen[p] && second.seen[p]) sum += Math.abs(first.light[p]! - second.light[p]!);
        else unseen++;
      }
    const difference = unseen > 0 ? -1 : sum;
    if (difference > best.difference) best = { difference, xMm, yMm };
  }
  return { xMm: best.xMm, yMm: best.yMm, halfMm };
}

/** The samples of a region; it lies within the raster. */
function boxOf(
  { size, mmPerPx }: FaceRaster,
  { xMm, yMm, halfMm }: Region,
): { left: number; top: number; side: number } {
  const side = Math.min(size, Math.max(2, Math.round((2 * halfMm) / mmPerPx)));
  const within = (v: number): number => Math.min(size - side, Math.max(0, Math.round(v)));
  return {
    left: within((size - 1) / 2 + xMm / mmPerPx - side / 2),
    top: within((size - 1) / 2 - yMm / mmPerPx - side / 2),
    side,
  };
}

/** Samples of the picture for each unit of the figure, at first. */
const finest = 1.4;

async function composed(
  rgb: Uint8Array,
  raster: FaceRaster,
  regions: Readonly<Record<"whole" | "rim" | "arbor", Region>>,
  bytes: number,
): Promise<Picture> {
  const { default: sharp } = await import("sharp");
  const { size } = raster;
  const made = async (scale: number): Promise<Buffer> => {
    const squares = await Promise.all(
      (["whole", "rim", "arbor"] as const).map(async (name) => {
        const { left, top, side } = boxOf(raster, regions[name]);
        const to = Math.round(layout[name].side * scale);
        const input = await sharp(rgb, { raw: { width: size, height: size, channels: 3 } })
          .extract({ left, top, width: side, height: side })
          .resize(to, to, { kernel: "cubic" })
          .png()
          .toBuffer();
        return { input, left: Math.round(layout[name].x * scale), top: Math.round(layout[name].y * scale) };
      }),
    );
    return sharp({
      create: {
        width: Math.round(layout.width * scale),
        height: Math.round(layout.height * scale),
        channels: 3,
        background: "#ffffff",
      },
    })
      .composite(squares)
      .jpeg({ quality: 80, chromaSubsampling: "4:4:4" })
      .toBuffer();
  };
  let scale = finest;
  let jpeg = await made(scale);
  while (jpeg.length > bytes && scale > 0.5) {
    scale *= 0.8;
    jpeg = await made(scale);
  }
  return {
    jpeg,
    box: { x: 0, y: 0, width: layout.width, height: layout.height },
    widthPx: Math.round(layout.width * scale),
    heightPx: Math.round(layout.height * scale),
  };
}
