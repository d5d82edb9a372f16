import type { Photo } from "../photo/index.js";
import type { PhotoRecord } from "../record/index.js";
import { partFrame } from "./overlay/frame.js";
import type { Box } from "./overlay/place-boxes.js";
import { marksReach } from "./overlay/part-marks.js";

/** A stripped, smaller copy of a region of a photograph. */
export interface Picture {
  readonly jpeg: Buffer;
  /** The region it shows, px of the upright photograph. */
  readonly box: Box;
  readonly widthPx: number;
  readonly heightPx: number;
}

/** Pictures of parts are printed about 8 cm wide, whole photographs 17 cm. */
export const partEmphasis = 2.1;
export const photoEmphasis = 1.25;

/** A crop is this much taller than wide: a strip below the part holds the scale bar. */
const stripBelow = 1.09;

/** Region that shows a part with its marks; none for a part whose place in the picture is not known. */
export function cropOf(photo: PhotoRecord, partId: string): Box | undefined {
  const part = photo.parts.find(({ id }) => id === partId);
  const { width_px: width, height_px: height } = photo;
  if (!part || width === undefined || height === undefined) return undefined;
  const frame = partFrame(part);
  if (!(frame.radiusPx > 4)) return undefined;
  // Marks are sized by the crop, the crop by the marks: solved for the side.
  const side = (2 * frame.radiusPx) / (1 - (2 * marksReach * partEmphasis * stripBelow) / 1000) + 8;
  const [cx, cy] = frame.centre;
  const x = Math.max(0, Math.floor(cx - side / 2));
  const y = Math.max(0, Math.floor(cy - side / 2));
  const box = {
    x,
    y,
    width: Math.min(width - x, Math.ceil(side)),
    height: Math.min(height - y, Math.ceil(side * stripBelow)),
  };
  return box.width >= 16 && box.height >= 16 ? box : undefined;
}

/** Bytes that pictures may take: base64 adds a third, and the report is to stay under 10 MB. */
const totalBytes = 6.4e6;
const greatestPhotoBytes = 420_000;
const greatestPartBytes = 110_000;

export interface PictureBudget {
  readonly photoBytes: number;
  readonly partBytes: number;
}

/** Shares the room among photographs and parts. */
export function pictureBudget(photoCount: number, partCount: number): PictureBudget {
  const photoShare = partCount > 0 ? 0.55 : 1;
  return {
    photoBytes: Math.min(greatestPhotoBytes, (totalBytes * photoShare) / Math.max(1, photoCount)),
    partBytes: Math.min(greatestPartBytes, (totalBytes * (1 - photoShare)) / Math.max(1, partCount)),
  };
}

const longestPhotoPx = 2400;
const longestPartPx = 1100;
const shortestPx = 160;

/**
 * A copy of a region that takes at most `bytes`, as fine as that allows. JPEG without metadata.
 *
 * @param longestPx longest side of the copy.
 */
async function copyOf(photo: Photo, box: Box, bytes: number, longestPx: number): Promise<Picture> {
  const { default: sharp } = await import("sharp");
  const encode = (longest: number): Promise<{ data: Buffer; info: { width: number; height: number } }> =>
    sharp(photo.rgb, { raw: { width: photo.widthPx, height: photo.heightPx, channels: 3 } })
      .extract({ left: box.x, top: box.y, width: box.width, height: box.height })
      .resize({ width: longest, height: longest, fit: "inside", withoutEnlargement: true })
      .jpeg({ quality: 76 })
      .toBuffer({ resolveWithObject: true });
  let longest = Math.min(longestPx, Math.max(box.width, box.height));
  let made = await encode(longest);
  // Bytes go roughly with the area: two or three steps reach the limit from above.
  while (made.data.length > bytes && longest > shortestPx) {
    longest = Math.max(
      shortestPx,
      Math.floor(longest * Math.min(0.9, Math.sqrt(bytes / made.data.length) * 0.97)),
    );
    made = await encode(longest);
  }
  return { jpeg: made.data, box, widthPx: made.info.width, heightPx: made.info.height };
}

export const photoPicture = (photo: Photo, budget: PictureBudget): Promise<Picture> =>
  copyOf(
    photo,
    { x: 0, y: 0, width: photo.widthPx, height: photo.heightPx },
    budget.photoBytes,
    longestPhotoPx,
  );

export const partPicture = (photo: Photo, crop: Box, budget: PictureBudget): Promise<Picture> =>
  copyOf(photo, crop, budget.partBytes, longestPartPx);
