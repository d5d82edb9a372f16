import { failed } from "../problem/index.js";
import type { Outcome } from "../problem/index.js";

/** Upright pixels: sRGB, 8 bit, row-major, 3 bytes a pixel. */
export interface Decoded {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly rgb: Uint8Array;
  readonly colourHalved: boolean;
  readonly colourSteps?: number;
  /** EXIF block (TIFF structure), where the decoder met one. */
  readonly exif?: Uint8Array;
}

export const damaged = (format: string): Outcome<never> =>
  failed(
    "damaged-image",
    `the ${format.toUpperCase()} picture is damaged or cut short; it cannot be decoded completely`,
    "copy the photograph from the camera or phone again, or take another",
  );

/** Undefined when the picture is within the limit. Asked before any pixel is decoded. */
export function checkPixelCount(
  widthPx: number,
  heightPx: number,
  maxPixelCount: number,
): Outcome<never> | undefined {
  const count = widthPx * heightPx;
  if (count <= maxPixelCount) return undefined;
  return failed(
    "image-too-large",
    `the picture is ${widthPx} x ${heightPx} px, ${megapixels(count)} megapixels; ` +
      `expected at most ${megapixels(maxPixelCount)}`,
    "save a smaller copy, or photograph with a lower resolution; 12 to 50 megapixels measure well",
  );
}

const megapixels = (count: number): string => {
  const millions = count / 1e6;
  return millions >= 10 ? millions.toFixed(0) : String(Number(millions.toPrecision(2)));
};
