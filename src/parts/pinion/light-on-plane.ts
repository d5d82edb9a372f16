import type { ViewGeometry } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { luminanceWeights } from "../contrast.js";
import { PlaneToPixel } from "../face-plane.js";

/** Keeps the logarithm of near-black quiet. */
const leastLight = 0.004;

/** Natural logarithm of the light seen at a point of a plane parallel to the mat; NaN outside the picture. */
export function lightOnPlane(
  { rgb, widthPx, heightPx }: Photo,
  geometry: ViewGeometry,
  zMm: number,
): (xMm: number, yMm: number) => number {
  const map = new PlaneToPixel(geometry, zMm);
  const lightOf = (pixel: number): number =>
    luminanceWeights.red[rgb[3 * pixel]!]! +
    luminanceWeights.green[rgb[3 * pixel + 1]!]! +
    luminanceWeights.blue[rgb[3 * pixel + 2]!]!;
  return (xMm, yMm) => {
    map.at(xMm, yMm);
    const [u, v] = [Math.floor(map.u), Math.floor(map.v)];
    if (!(u >= 0 && v >= 0 && u < widthPx - 1 && v < heightPx - 1)) return NaN;
    const [fu, fv] = [map.u - u, map.v - v];
    const p = v * widthPx + u;
    const upper = lightOf(p) + fu * (lightOf(p + 1) - lightOf(p));
    const lower = lightOf(p + widthPx) + fu * (lightOf(p + widthPx + 1) - lightOf(p + widthPx));
    return Math.log(leastLight + upper + fv * (lower - upper));
  };
}
