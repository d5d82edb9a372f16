import type { CaptureHint } from "../../wire.js";
import { ask } from "../ask.js";

/**
 * What the bench says of a photograph that was sent: of a small copy made here, or, where this browser cannot read the
 * file, of the file itself.
 */
export const hintForSent = (file: Blob, name: string): Promise<CaptureHint | undefined> =>
  patiently(() => hintFor(file)).catch(() =>
    patiently(() => ask<CaptureHint>(`/camera/photos/${encodeURIComponent(name)}/hint`)).catch(
      () => undefined,
    ),
  );

/** The bench looks at one picture at a time; the camera's own frames may be before this one. */
async function patiently(look: () => Promise<CaptureHint>): Promise<CaptureHint | undefined> {
  for (let tries = 0; tries < 8; tries++) {
    const hint = await look();
    if (hint.code !== "busy") return hint;
    await new Promise((done) => setTimeout(done, 500));
  }
  return undefined;
}

const hintSidePx = 1600;

/** What the bench says of a picture; a smaller copy goes there, made here. */
export async function hintFor(picture: Blob | HTMLVideoElement): Promise<CaptureHint> {
  const bitmap = picture instanceof Blob ? await createImageBitmap(picture) : picture;
  const width = "videoWidth" in bitmap ? bitmap.videoWidth : bitmap.width;
  const height = "videoHeight" in bitmap ? bitmap.videoHeight : bitmap.height;
  const share = Math.min(1, hintSidePx / Math.max(width, height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(width * share);
  canvas.height = Math.round(height * share);
  canvas.getContext("2d")!.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", 0.85));
  return ask<CaptureHint>("/camera/hint", { method: "POST", body: blob ?? new Blob() });
}
