import { cameraCentreMm, matFromPixel } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import { rawColourOf } from "../brassiness.js";
import { pixelFromFace, PlaneToPixel } from "../face-plane.js";
import { codeFromLinear } from "../linear-light.js";
import type { CountedWheel } from "../wheel/counted-wheel.js";
import { countLeaves, type Leaves } from "./count-leaves.js";

/** More colour than the paper: brass has 0.1 and more, steel none. */
const leastColour = 0.07;
/** Of the tip radius: how far walls may reach beyond it. */
const withWalls = 1.4;

/**
 * Leaves of a brass pinion on its end, walls and all, told by brass's own colour, which the walls have as the face does
 * however dark they are. Undefined where the part has no such colour, or is no standing pinion.
 */
export function countBrassLeaves(
  photo: Photo,
  view: View,
  { rim, contrast }: CountedWheel,
): Leaves | undefined {
  const colourOf = ([red, green, blue]: readonly [number, number, number]): number =>
    rawColourOf(codeFromLinear(red), codeFromLinear(green), codeFromLinear(blue));
  const neutral = colourOf(contrast.around);
  const span = colourOf(contrast.metal) - neutral;
  if (span < leastColour) return undefined;
  const map = new PlaneToPixel(view.geometry, 0);
  const { rgb, widthPx, heightPx } = photo;
  const brassAt = (xMm: number, yMm: number): number => {
    map.at(xMm, yMm);
    const [u, v] = [Math.round(map.u), Math.round(map.v)];
    if (!(u >= 0 && v >= 0 && u < widthPx && v < heightPx)) return NaN;
    const p = 3 * (v * widthPx + u);
    return Math.min(1, Math.max(0, (rawColourOf(rgb[p]!, rgb[p + 1]!, rgb[p + 2]!) - neutral) / span));
  };
  const [u, v] = pixelFromFace(rim.face, 0, 0);
  const [xMm, yMm, zMm] = cameraCentreMm(view.geometry.cameraFromMat);
  return countLeaves([brassAt], matFromPixel(view.geometry, u, v, 0), withWalls * rim.tipMm, {
    xMm,
    yMm,
    zMm,
  });
}
