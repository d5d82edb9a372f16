import type { Photo } from "../photo/index.js";
import type { Contrast } from "./contrast.js";
import { PlaneToPixel, pxPerMmOnFace, type FacePlane } from "./face-plane.js";
import { signalOver, type PixelBox } from "./signal-patch.js";

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
  const [a, b, c, d] = face.affine;
  const farMm = fromRadiusMm + (radii - 1) * stepMm;
  const box = boxOf(photo, face, map, farMm);
  if (box === undefined) {
    data.fill(NaN);
    return { data, angles, radii, fromRadiusMm, stepMm };
  }
  const { signal, uFrom, vFrom, width, height } = signalOver(photo, contrast, box);
  // The camera bends a line so little that it is straight over a few pixels.
  const block = Math.max(1, Math.floor(straightPx / (stepMm * pxPerMmOnFace(face))));
  for (let i = 0, p = 0; i < angles; i++) {
    const t = startRad + (2 * Math.PI * i) / angles;
    const cos = Math.cos(t);
    const sin = Math.sin(t);
    const dx = a * cos + b * sin;
    const dy = c * cos + d * sin;
    map.at(face.xMm + fromRadiusMm * dx, face.yMm + fromRadiusMm * dy);
    let u = map.u - uFrom;
    let v = map.v - vFrom;
    for (let start = 0; start < radii; start += block) {
      const r = fromRadiusMm + (start + block) * stepMm;
      map.at(face.xMm + r * dx, face.yMm + r * dy);
      const uStep = (map.u - uFrom - u) / block;
      const vStep = (map.v - vFrom - v) / block;
      const end = Math.min(radii, start + block);
      for (let j = start; j < end; j++, p++, u += uStep, v += vStep) {
        const iu = Math.floor(u);
        const iv = Math.floor(v);
        if (!(iu >= 0 && iv >= 0 && iu < width - 1 && iv < height - 1)) {
          data[p] = NaN;
          continue;
        }
        const fu = u - iu;
        const q = iv * width + iu;
        const upper = signal[q]! + fu * (signal[q + 1]! - signal[q]!);
        const e = q + width;
        const lower = signal[e]! + fu * (signal[e + 1]! - signal[e]!);
        data[p] = upper + (v - iv) * (lower - upper);
      }
    }
  }
  return { data, angles, radii, fromRadiusMm, stepMm };
}

const straightPx = 4;

/** The pixels that a disc of the face may touch, inside the picture; undefined when there are none. */
function boxOf(
  { widthPx, heightPx }: Photo,
  face: FacePlane,
  map: PlaneToPixel,
  radiusMm: number,
): PixelBox | undefined {
  const [a, b, c, d] = face.affine;
  let [uLow, uHigh, vLow, vHigh] = [Infinity, -Infinity, Infinity, -Infinity];
  // A circumscribed polygon, not an inscribed one.
  const sides = 24;
  const reach = radiusMm / Math.cos(Math.PI / sides);
  for (let k = 0; k < sides; k++) {
    const x = reach * Math.cos((2 * Math.PI * k) / sides);
    const y = reach * Math.sin((2 * Math.PI * k) / sides);
    map.at(face.xMm + a * x + b * y, face.yMm + c * x + d * y);
    uLow = Math.min(uLow, map.u);
    uHigh = Math.max(uHigh, map.u);
    vLow = Math.min(vLow, map.v);
    vHigh = Math.max(vHigh, map.v);
  }
  const uFrom = Math.max(0, Math.floor(uLow) - 2);
  const vFrom = Math.max(0, Math.floor(vLow) - 2);
  const width = Math.min(widthPx, Math.ceil(uHigh) + 3) - uFrom;
  const height = Math.min(heightPx, Math.ceil(vHigh) + 3) - vFrom;
  return width > 1 && height > 1 ? { uFrom, vFrom, width, height } : undefined;
}
