import type { Term, InputId } from "../quantity/index.js";
import type { View } from "../view/index.js";
import { matFromPixel, type ViewGeometry } from "../geometry/index.js";
import { PlaneToPixel, type FacePlane } from "./face-plane.js";

/** What one standard uncertainty of one input does to a circle of the face: its centre, radius and oval. */
export interface CircleTerm {
  readonly id: InputId;
  readonly dxMm: number;
  readonly dyMm: number;
  /** Relative change of the radius. */
  readonly stretch: number;
  /** Change of the second harmonic of the radius: cosine and sine. */
  readonly ovalMm: readonly [number, number];
}

const pointsRound = 24;

/**
 * Carries the uncertainty of camera, scale and height over to a circle: its pixels are kept, and read again through
 * the geometry with one input moved.
 */
export function circleTerms(
  view: View,
  face: FacePlane,
  radiusMm: number,
  height: { readonly id: InputId; readonly uMm: number } | undefined,
): CircleTerm[] {
  const pixels = circlePixels(face, radiusMm);
  const terms = view.inputs.map(({ id, geometry }) =>
    readAgain(id, pixels, face, radiusMm, geometry, face.zMm),
  );
  if (height !== undefined)
    terms.push(readAgain(height.id, pixels, face, radiusMm, face.geometry, face.zMm + height.uMm));
  return terms;
}

function circlePixels(face: FacePlane, radiusMm: number): [number, number][] {
  const map = new PlaneToPixel(face.geometry, face.zMm);
  const [a, b, c, d] = face.affine;
  return Array.from({ length: pointsRound }, (_, i) => {
    const t = (2 * Math.PI * i) / pointsRound;
    const x = radiusMm * Math.cos(t);
    const y = radiusMm * Math.sin(t);
    map.at(face.xMm + a * x + b * y, face.yMm + c * x + d * y);
    return [map.u, map.v];
  });
}

function readAgain(
  id: InputId,
  pixels: readonly [number, number][],
  face: FacePlane,
  radiusMm: number,
  geometry: ViewGeometry,
  zMm: number,
): CircleTerm {
  let dx = 0;
  let dy = 0;
  let out = 0;
  let oc = 0;
  let os = 0;
  const [a, b, c, d] = face.affine;
  for (let i = 0; i < pixels.length; i++) {
    const [u, v] = pixels[i]!;
    const t = (2 * Math.PI * i) / pointsRound;
    const cos = Math.cos(t);
    const sin = Math.sin(t);
    const [x, y] = matFromPixel(geometry, u, v, zMm);
    const ex = x - (face.xMm + radiusMm * (a * cos + b * sin));
    const ey = y - (face.yMm + radiusMm * (c * cos + d * sin));
    const radial = ex * cos + ey * sin;
    dx += ex / pointsRound;
    dy += ey / pointsRound;
    out += radial / pointsRound;
    oc += (2 * radial * Math.cos(2 * t)) / pointsRound;
    os += (2 * radial * Math.sin(2 * t)) / pointsRound;
  }
  return { id, dxMm: dx, dyMm: dy, stretch: out / radiusMm, ovalMm: [oc, os] };
}

export const stretchTerms = (terms: readonly CircleTerm[], lengthMm: number): Term[] =>
  terms.map(({ id, stretch }): Term => [id, stretch * lengthMm]);
