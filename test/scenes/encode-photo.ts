import { createHash } from "node:crypto";
import type { Photo } from "../../src/photo/index.js";
import type { Rendered } from "./render-scene.js";
import type { Scene } from "./scene.js";

/** JPEG bytes at the scene's quality (95 where the scene asks for none). */
export async function encodeJpeg(rendered: Rendered, quality: number): Promise<Buffer> {
  const { default: sharp } = await import("sharp");
  const { widthPx: width, heightPx: height } = rendered;
  return sharp(rendered.rgb, { raw: { width, height, channels: 3 } })
    .jpeg({
      quality: quality > 0 ? quality : 95,
      chromaSubsampling: isColourHalved(quality) ? "4:2:0" : "4:4:4",
    })
    .toBuffer();
}

/** Phones store colour at half resolution at any quality. */
const isColourHalved = (quality: number): boolean => quality > 0;

/** A decoded photograph as room `photo` would give it: through JPEG if the scene asks for it. */
export async function photoOfRendered(rendered: Rendered, scene: Scene, file: string): Promise<Photo> {
  const { default: sharp } = await import("sharp");
  const { widthPx, heightPx } = rendered;
  const bytes =
    scene.sensor.jpegQuality > 0
      ? await encodeJpeg(rendered, scene.sensor.jpegQuality)
      : await sharp(rendered.rgb, { raw: { width: widthPx, height: heightPx, channels: 3 } })
          .png()
          .toBuffer();
  const rgb =
    scene.sensor.jpegQuality > 0 ? new Uint8Array(await sharp(bytes).raw().toBuffer()) : rendered.rgb;
  return {
    file,
    byteCount: bytes.length,
    sha256: createHash("sha256").update(bytes).digest("hex"),
    format: scene.sensor.jpegQuality > 0 ? "jpeg" : "png",
    widthPx,
    heightPx,
    rgb,
    colourHalved: isColourHalved(scene.sensor.jpegQuality),
    cameraData: {},
  };
}
