import type { ViewGeometry } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { luminanceWeights } from "../contrast.js";
import { PlaneToPixel } from "../face-plane.js";

/** What is seen at a point of a plane, mm; NaN outside the picture. */
export type OnPlane = (xMm: number, yMm: number) => number;

/**
 * What pixels say, bilinear, at points of a plane parallel to the mat.
 *
 * @param valueAt of the pixel whose red stands at this place of `photo.rgb`.
 */
export function readOnPlane(
  photo: Photo,
  geometry: ViewGeometry,
  zMm: number,
  valueAt: (photo: Photo, p: number) => number,
): OnPlane {
  const { widthPx, heightPx } = photo;
  const map = new PlaneToPixel(geometry, zMm);
  return (xMm, yMm) => {
    map.at(xMm, yMm);
    const u = Math.floor(map.u);
    const v = Math.floor(map.v);
    if (!(u >= 0 && v >= 0 && u < widthPx - 1 && v < heightPx - 1)) return NaN;
    const fu = map.u - u;
    const p = 3 * (v * widthPx + u);
    const below = p + 3 * widthPx;
    const left = valueAt(photo, p);
    const lowerLeft = valueAt(photo, below);
    const upper = left + fu * (valueAt(photo, p + 3) - left);
    const lower = lowerLeft + fu * (valueAt(photo, below + 3) - lowerLeft);
    return upper + (map.v - v) * (lower - upper);
  };
}

/** Keeps the logarithm of near-black quiet. */
const leastLight = 0.004;

const lightAt = ({ rgb }: Photo, p: number): number =>
  luminanceWeights.red[rgb[p]!]! + luminanceWeights.green[rgb[p + 1]!]! + luminanceWeights.blue[rgb[p + 2]!]!;

/** Natural logarithm of the light. */
export function lightOnPlane(photo: Photo, geometry: ViewGeometry, zMm: number): OnPlane {
  const light = readOnPlane(photo, geometry, zMm, lightAt);
  return (xMm, yMm) => Math.log(leastLight + light(xMm, yMm));
}
