import { medianOf } from "../fit/index.js";
import { pixelFromMat } from "../geometry/index.js";
import type { Photo } from "../photo/index.js";
import type { View } from "../view/index.js";
import { rawColour } from "./brassiness.js";
import type { Point } from "./part.js";

/** A long thing that lies on the sheet, mm. */
export interface Rod {
  readonly centreMm: Point;
  readonly angleRad: number;
  readonly lengthMm: number;
  readonly widthMm: number;
}

const steps = 40;
/** More colour than the paper beside it: brass has 0.1 and more, steel under a warm lamp none. */
const leastColour = 0.06;
const mostly = 0.6;
/** From the edge of the rod to the paper beside it, mm: shade keeps the colour of paper. */
const besideMm = 2;

/**
 * Whether most of a rod has brass's own colour. Arbors and the pinions cut on them are of steel, pillars of brass
 * (trade).
 */
export function isOfBrass(photo: Photo, view: View, zMm: number, rod: Rod): boolean {
  const [cos, sin] = [Math.cos(rod.angleRad), Math.sin(rod.angleRad)];
  const coloursAt = (asideMm: number): number[] =>
    Array.from({ length: steps }, (_, k) => {
      const s = ((k + 0.5) / steps - 0.5) * rod.lengthMm;
      const x = rod.centreMm[0] + s * cos - asideMm * sin;
      const y = rod.centreMm[1] + s * sin + asideMm * cos;
      const [u, v] = pixelFromMat(view.geometry, x, y, zMm).map(Math.round) as [number, number];
      if (!(u >= 0 && v >= 0 && u < photo.widthPx && v < photo.heightPx)) return NaN;
      const p = 3 * (v * photo.widthPx + u);
      const [red, green, blue] = [photo.rgb[p]!, photo.rgb[p + 1]!, photo.rgb[p + 2]!];
      return rawColour({ red, green, blue });
    }).filter((c) => !Number.isNaN(c));
  const aside = rod.widthMm / 2 + besideMm;
  const paper = [...coloursAt(aside), ...coloursAt(-aside)];
  const seen = coloursAt(0);
  if (paper.length === 0 || seen.length === 0) return false;
  const neutral = medianOf(paper);
  return seen.filter((c) => c - neutral > leastColour).length > mostly * seen.length;
}
