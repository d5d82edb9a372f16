import type { PartRecord } from "../../../record/index.js";

/** Mean distance of the tip circle from the centre, in the picture. */
export function partRadiusPx(part: PartRecord): number | undefined {
  const points = part.outline?.tip_circle_px ?? [];
  if (points.length < 3) return undefined;
  const [cx, cy] = part.centre_px;
  return points.reduce((sum, [x, y]) => sum + Math.hypot(x - cx, y - cy), 0) / points.length;
}

export type ToothPlace = NonNullable<NonNullable<PartRecord["teeth"]>["places"]>[number];

/** Radius of the rim at an angle, as a share of the greatest; undefined where it was not seen. */
export function rimShares(
  part: PartRecord,
): { readonly angleDeg: number; readonly share: number | undefined }[] {
  const { rim } = part;
  const radii = rim?.radius_mm ?? rim?.radius_px ?? [];
  if (!rim || radii.length === 0) return [];
  const seen = (i: number): boolean => !rim.unseen.some(([from, count]) => i >= from && i < from + count);
  const known = radii.filter((_, i) => seen(i));
  const [least, most] = [Math.min(...known), Math.max(...known)];
  return radii.map((radius, i) => ({
    angleDeg: (rim.start_deg + i * rim.step_deg) % 360,
    share: seen(i) && most > least ? (radius - least) / (most - least) : undefined,
  }));
}
