import type { Photo } from "../../photo/index.js";
import { PlaneToPixel, type FacePlane } from "../face-plane.js";
import type { BareColour } from "./bare-colour.js";
import { lumaOf, sampleRgb } from "./sample-photo.js";
import type { FacePicture } from "./wheel-marks.js";

const angles = 720;
const radii = 48;

/** The face from near the hub to the roots, unrolled. What lies outside the photograph is 0. */
export function readFacePicture(
  photo: Photo,
  face: FacePlane,
  rootMm: number,
  colour: BareColour,
): FacePicture {
  const fromRadiusMm = 0.16 * rootMm;
  const stepMm = (0.98 * rootMm - fromRadiusMm) / (radii - 1);
  const map = new PlaneToPixel(face.geometry, face.zMm);
  const light = new Uint8Array(angles * radii);
  const bare = new Uint8Array(angles * radii);
  const rgb = new Float64Array(3);
  for (let i = 0; i < angles; i++) {
    const cos = Math.cos((2 * Math.PI * i) / angles);
    const sin = Math.sin((2 * Math.PI * i) / angles);
    for (let j = 0; j < radii; j++) {
      const r = fromRadiusMm + j * stepMm;
      map.at(face.xMm + r * cos, face.yMm + r * sin);
      if (!sampleRgb(photo, map.u, map.v, rgb)) continue;
      light[i * radii + j] = Math.round(lumaOf(rgb));
      bare[i * radii + j] = Math.round(255 * Math.min(1, Math.max(0, colour.of(rgb))));
    }
  }
  return { angles, radii, fromRadiusMm, stepMm, light, bare };
}
