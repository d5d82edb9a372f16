import type { Photo } from "../../src/photo/index.js";

/** A picture made in memory, invented. @param rgb 3 bytes a pixel, row-major. */
export const inventedPhoto = (widthPx: number, heightPx: number, rgb: Uint8Array): Photo => ({
  file: "invented.png",
  byteCount: rgb.length,
  sha256: "0".repeat(64),
  format: "png",
  widthPx,
  heightPx,
  rgb,
  colourHalved: false,
  cameraData: {},
});
