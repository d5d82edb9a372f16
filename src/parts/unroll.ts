import type { Photo } from "../photo/index.js";
import type { Contrast } from "./contrast.js";
import { PlaneToPixel, type FacePlane } from "./face-plane.js";

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
  contrast: Contrast,
  face: FacePlane,
  fromRadiusMm: number,
  toRadiusMm: number,
  stepMm: number,
  angles: number,
  startRad = 0,
): Unrolled {
  const radii = Math.max(2, Math.ceil((toRadiusMm - fromRadiusMm) / stepMm) + 1);
  const data = new Float32Array(angles * radii);
  const map = new PlaneToPixel(face.geometry, face.zMm);
  const { rgb, widthPx, heightPx } = photo;
  const { red, green, blue } = contrast;
  const [a, b, c, d] = face.affine;
  const stride = 3 * widthPx;
  for (let i = 0, p = 0; i < angles; i++) {
    const t = startRad + (2 * Math.PI * i) / angles;
    const cos = Math.cos(t);
    const sin = Math.sin(t);
    const dx = a * cos + b * sin;
    const dy = c * cos + d * sin;
    for (let j = 0; j < radii; j++, p++) {
      const r = fromRadiusMm + j * stepMm;
      map.at(face.xMm + r * dx, face.yMm + r * dy);
      const u = map.u;
      const v = map.v;
      const iu = Math.floor(u);
      const iv = Math.floor(v);
      if (!(iu >= 0 && iv >= 0 && iu < widthPx - 1 && iv < heightPx - 1)) {
        data[p] = NaN;
        continue;
      }
      const fu = u - iu;
      const fv = v - iv;
      const q = iv * stride + 3 * iu;
      const s00 = red[rgb[q]!]! + green[rgb[q + 1]!]! + blue[rgb[q + 2]!]!;
      const s10 = red[rgb[q + 3]!]! + green[rgb[q + 4]!]! + blue[rgb[q + 5]!]!;
      const e = q + stride;
      const s01 = red[rgb[e]!]! + green[rgb[e + 1]!]! + blue[rgb[e + 2]!]!;
      const s11 = red[rgb[e + 3]!]! + green[rgb[e + 4]!]! + blue[rgb[e + 5]!]!;
      data[p] = (1 - fv) * (s00 + fu * (s10 - s00)) + fv * (s01 + fu * (s11 - s01));
    }
  }
  return { data, angles, radii, fromRadiusMm, stepMm };
}
