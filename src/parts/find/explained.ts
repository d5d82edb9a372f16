import { pixelFromMat } from "../../geometry/index.js";
import type { View } from "../../view/index.js";
import type { Point } from "../part.js";
import { smallFromPhoto, type SmallPicture } from "./small-picture.js";
import { fillPolygon } from "./where-to-look.js";

/** A round part that was found already, on the plane of its outline. */
export interface Explained {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
}

/** Pieces lose up to a small pixel at their edges. */
const besideMm = 1.5;

/** The pixels without what round parts explain, with a little round them, and the hulls of patches dealt with. */
export function withoutKnown(
  pixels: Uint8Array,
  picture: SmallPicture,
  view: View,
  zMm: number,
  explained: readonly Explained[],
  hulls: readonly Int32Array[],
): Uint8Array {
  const mask = pixels.slice();
  for (const part of explained) fillPolygon(mask, picture, discIn(picture, view, zMm, part), 0);
  for (const hull of hulls) {
    const n = hull.length / 2;
    let [x, y] = [0, 0];
    for (let i = 0; i < n; i++) {
      x += hull[2 * i]! / n;
      y += hull[2 * i + 1]! / n;
    }
    const grown = Array.from({ length: n }, (_, i): [number, number] => {
      const [dx, dy] = [hull[2 * i]! - x, hull[2 * i + 1]! - y];
      const more = 1 + 6 / Math.max(1, Math.hypot(dx, dy));
      return [x + more * dx, y + more * dy];
    });
    fillPolygon(mask, picture, grown, 0);
  }
  return mask;
}

/** A known part with a little round it, small pixels. */
export const discIn = (
  picture: SmallPicture,
  view: View,
  zMm: number,
  { xMm, yMm, radiusMm }: Explained,
): [number, number][] =>
  Array.from({ length: 36 }, (_, k) => {
    const [r, t] = [beyondRim(radiusMm), (2 * Math.PI * k) / 36];
    const [u, v] = pixelFromMat(view.geometry, xMm + r * Math.cos(t), yMm + r * Math.sin(t), zMm);
    return [smallFromPhoto(picture, u), smallFromPhoto(picture, v)];
  });

const beyondRim = (radiusMm: number): number => 1.06 * radiusMm + 0.6;

export const isNear = ({ xMm, yMm, radiusMm }: Explained, border: readonly Point[]): boolean =>
  border.some(([x, y]) => Math.hypot(x - xMm, y - yMm) < beyondRim(radiusMm) + besideMm);

/** A part owns a patch whose contour runs along its rim over a good part of the turn. */
export function explains(part: Explained, contour: readonly Point[]): boolean {
  const hit = new Uint8Array(24);
  for (let k = 0; k < contour.length; k++) {
    const dx = contour[k]![0] - part.xMm;
    const dy = contour[k]![1] - part.yMm;
    const r = Math.sqrt(dx * dx + dy * dy) / part.radiusMm;
    if (r > 0.85 && r < 1.06) hit[Math.floor(((Math.atan2(dy, dx) / (2 * Math.PI) + 1) % 1) * 24)] = 1;
  }
  return hit.reduce((s, h) => s + h, 0) >= 8;
}

export function unexplained(contour: readonly Point[], explained: readonly Explained[]): number {
  const outside = contour.filter((point) => isOutside(point, explained));
  return outside.length / Math.max(1, contour.length);
}

function isOutside(point: Point, explained: readonly Explained[]): boolean {
  for (const { xMm, yMm, radiusMm } of explained)
    if (!(Math.hypot(point[0] - xMm, point[1] - yMm) > 1.08 * radiusMm + 0.5)) return false;
  return true;
}
