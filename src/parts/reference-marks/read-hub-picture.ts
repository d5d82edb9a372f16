import type { Photo } from "../../photo/index.js";
import { PlaneToPixel, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { BareColour } from "./bare-colour.js";
import { lumaOf, sampleRgb } from "./sample-photo.js";
import type { HubPicture } from "./wheel-marks.js";

/** Half a side, as a share of the root radius: arbor, pinion and collet of most wheels. */
const reach = 0.32;
const mostSamples = 160;

/** The middle of the wheel, for finding the arbor in it. */
export function readHubPicture(
  photo: Photo,
  face: FacePlane,
  rootMm: number,
  colour: BareColour,
): HubPicture {
  const half = reach * rootMm;
  const size = Math.min(mostSamples, Math.ceil(2 * half * pxPerMmOnFace(face)) | 1);
  const stepMm = (2 * half) / (size - 1);
  const map = new PlaneToPixel(face.geometry, face.zMm);
  const light = new Uint8Array(size * size);
  const bare = new Float32Array(size * size);
  const rgb = new Float64Array(3);
  for (let j = 0; j < size; j++) {
    for (let i = 0; i < size; i++) {
      map.at(face.xMm + (i - (size - 1) / 2) * stepMm, face.yMm + (j - (size - 1) / 2) * stepMm);
      if (!sampleRgb(photo, map.u, map.v, rgb)) continue;
      light[j * size + i] = Math.round(lumaOf(rgb));
      bare[j * size + i] = colour.of(rgb);
    }
  }
  return { size, stepMm, light, bare };
}
