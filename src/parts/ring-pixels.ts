import type { Photo } from "../photo/index.js";
import { pxPerMmOnFace, type FacePlane, type PlaneToPixel } from "./face-plane.js";
import type { NeededPixels } from "./signal-patch.js";

const sides = 24;
/** Bilinear sampling looks at the next pixel; the rest is for an edge of the polygon that the lens bends. */
const sparePx = 3;

/** The pixels that samples of a ring of the face may touch, inside the picture; undefined when there are none. */
export function ringPixels(
  photo: Photo,
  face: FacePlane,
  map: PlaneToPixel,
  fromRadiusMm: number,
  toRadiusMm: number,
): NeededPixels | undefined {
  const spareMm = sparePx / pxPerMmOnFace(face);
  // A circumscribed polygon outside, an inscribed one inside.
  const outer = polygon(face, map, (toRadiusMm + spareMm) / Math.cos(Math.PI / sides));
  let [uLow, uHigh, vLow, vHigh] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let k = 0; k < outer.length; k += 2) {
    uLow = Math.min(uLow, outer[k]!);
    uHigh = Math.max(uHigh, outer[k]!);
    vLow = Math.min(vLow, outer[k + 1]!);
    vHigh = Math.max(vHigh, outer[k + 1]!);
  }
  const uFrom = Math.max(0, Math.floor(uLow));
  const vFrom = Math.max(0, Math.floor(vLow));
  const width = Math.min(photo.widthPx, Math.ceil(uHigh) + 1) - uFrom;
  const height = Math.min(photo.heightPx, Math.ceil(vHigh) + 1) - vFrom;
  if (!(width > 1 && height > 1)) return undefined;
  const [from, to] = rowsOf(outer, vFrom, height);
  const inner = polygon(face, map, Math.max(0, fromRadiusMm - spareMm));
  const [holeFrom, holeTo] = rowsOf(inner, vFrom, height);
  for (let j = 0; j < height; j++) {
    from[j]! -= 1;
    to[j]! += 1;
    holeFrom[j]! += 1;
    holeTo[j]! -= 1;
  }
  return { box: { uFrom, vFrom, width, height }, from, to, holeFrom, holeTo };
}

/** Corners on a circle of the face, px: u0, v0, u1, v1 ... */
function polygon(face: FacePlane, map: PlaneToPixel, radiusMm: number): Float64Array {
  const [a, b, c, d] = face.affine;
  const corners = new Float64Array(2 * sides);
  for (let k = 0; k < sides; k++) {
    const x = radiusMm * Math.cos((2 * Math.PI * k) / sides);
    const y = radiusMm * Math.sin((2 * Math.PI * k) / sides);
    map.at(face.xMm + a * x + b * y, face.yMm + c * x + d * y);
    corners[2 * k] = map.u;
    corners[2 * k + 1] = map.v;
  }
  return corners;
}

/** What a convex polygon covers of each row, from row vFrom on: first and last pixel, the wrong way round where nothing. */
function rowsOf(corners: Float64Array, vFrom: number, height: number): [Int32Array, Int32Array] {
  const first = new Float64Array(height).fill(Infinity);
  const last = new Float64Array(height).fill(-Infinity);
  for (let k = 0; k < corners.length; k += 2) {
    const next = (k + 2) % corners.length;
    const isDown = corners[k + 1]! <= corners[next + 1]!;
    const low = isDown ? k : next;
    const high = isDown ? next : k;
    const v0 = corners[low + 1]!;
    const v1 = corners[high + 1]!;
    const slope = (corners[high]! - corners[low]!) / (v1 - v0 || 1);
    const end = Math.min(height - 1, Math.floor(v1) - vFrom);
    for (let j = Math.max(0, Math.ceil(v0) - vFrom); j <= end; j++) {
      const u = corners[low]! + (j + vFrom - v0) * slope;
      if (u < first[j]!) first[j] = u;
      if (u > last[j]!) last[j] = u;
    }
  }
  return [pixelsOf(first), pixelsOf(last)];
}

/** Far outside any picture where a row is not met. */
const far = 1 << 29;
function pixelsOf(u: Float64Array): Int32Array {
  const pixels = new Int32Array(u.length);
  for (let j = 0; j < u.length; j++) pixels[j] = Math.round(Math.max(-far, Math.min(far, u[j]!)));
  return pixels;
}
