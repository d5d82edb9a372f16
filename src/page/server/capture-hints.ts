import { readPhotoBytes } from "../../photo/index.js";
import { solveView } from "../../view/index.js";
import type { CaptureHint } from "../wire.js";

/** Blur of an edge, as a share of the picture's longer side: beyond it teeth of usual size run together. */
const mostBlurShare = 1.6 / 1600;
/** The mat's own normal against the line of sight: cos 25°. */
const leastUpright = Math.cos((25 * Math.PI) / 180);
/** The mat should fill at least this share of the picture's width: with less, teeth get too few pixels. */
const leastFilled = 0.55;
const fieldMm = 190;

/**
 * What to do before the shutter is pressed (or after it), told from a small picture of what the camera sees.
 *
 * @param bytes JPEG of a frame, a few hundred kilobytes.
 */
export async function captureHint(bytes: Uint8Array): Promise<CaptureHint> {
  const photo = await readPhotoBytes(bytes, "frame.jpg", { maxByteCount: 5e6, maxPixelCount: 20e6 });
  if (!photo.ok) return { ok: false, code: "no-mat", text: "The camera shows no picture yet." };
  const { rgb, widthPx, heightPx } = photo.value;
  if (meanLight(rgb) < 40)
    return {
      ok: false,
      code: "too-dark",
      text: "Too dark.",
      advice: "Give it more light, from two sides, no flash.",
    };
  const view = await solveView(photo.value);
  const { mat, geometry, edge } = view;
  if (!mat)
    return {
      ok: false,
      code: "no-mat",
      text: "The mat is not seen.",
      advice: "Show the whole mat, with all four corners.",
    };
  const longest = Math.max(widthPx, heightPx);
  const { rotation, translationMm } = geometry.cameraFromMat;
  // Third column of the rotation: the mat's z in the camera's frame, which looks along its own z.
  const upright = Math.abs(rotation[8]!);
  if (upright < leastUpright)
    return {
      ok: false,
      code: "oblique",
      text: "Too oblique.",
      advice: "Hold the camera straight above the wheel.",
    };
  const distanceMm = Math.abs(translationMm[2]!);
  const filled = (geometry.camera.fxPx * fieldMm) / distanceMm / longest;
  if (filled < leastFilled)
    return {
      ok: false,
      code: "too-far",
      text: "Too far.",
      advice: "Zoom in until the mat fills the picture.",
    };
  if (edge.blurSigmaPx > Math.max(1.8, mostBlurShare * longest))
    return {
      ok: false,
      code: "blurred",
      text: "Not sharp.",
      advice: "Rest the camera and focus on the wheel.",
    };
  return { ok: true, code: "good", text: `Good: ${mat.markers.length} markers seen, sharp, straight above.` };
}

function meanLight(rgb: Uint8Array): number {
  const step = Math.max(3, 3 * Math.floor(rgb.length / 3 / 20_000));
  let sum = 0;
  let count = 0;
  for (let i = 0; i + 2 < rgb.length; i += step) {
    sum += 0.3 * rgb[i]! + 0.6 * rgb[i + 1]! + 0.1 * rgb[i + 2]!;
    count++;
  }
  return count === 0 ? 0 : sum / count;
}
