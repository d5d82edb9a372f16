import type { Photo } from "../photo/index.js";
import type { PixelWeights } from "./contrast.js";
import type { FacePlane } from "./face-plane.js";
import { RingReader } from "./ring-reader.js";

/**
 * A ring of the face, sampled in the original pixels: rows run round (angle), columns outwards (radius).
 * Value at `angle` i and `radius` j is data[i * radii + j]; NaN outside the picture.
 */
export interface Unrolled {
  readonly data: Float32Array;
  readonly angles: number;
  readonly radii: number;
  readonly fromRadiusMm: number;
  readonly stepMm: number;
}

/** Samples `contrast` bilinearly over a ring of the face; angle i is startRad + 2 pi i / angles, counter-clockwise. */
export function unroll(
  photo: Photo,
  contrast: PixelWeights,
  face: FacePlane,
  fromRadiusMm: number,
  toRadiusMm: number,
  stepMm: number,
  angles: number,
  startRad = 0,
): Unrolled {
  const radii = radiiBetween(fromRadiusMm, toRadiusMm, stepMm);
  const data = new Float32Array(angles * radii);
  const reader = new RingReader(photo, contrast, face, { fromRadiusMm, stepMm, radii });
  for (let i = 0; i < angles; i++) {
    reader.aim(startRad + (2 * Math.PI * i) / angles);
    for (let k = 0; k < reader.blocks; k++) reader.read(k, data, i * radii);
  }
  return { data, angles, radii, fromRadiusMm, stepMm };
}

/** Columns of a ring, both ends included. */
export const radiiBetween = (fromRadiusMm: number, toRadiusMm: number, stepMm: number): number =>
  Math.max(2, Math.ceil((toRadiusMm - fromRadiusMm) / stepMm) + 1);
