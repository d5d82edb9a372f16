import type { PartRecord } from "../../record/index.js";

export type XyPx = readonly [number, number];

/** How a part sits in the picture. */
export interface PartFrame {
  readonly centre: XyPx;
  /** Mean radius of the tip circle in the picture. */
  readonly radiusPx: number;
  /** Tooth pitch along the tip circle, px; absent without a count. */
  readonly pitchPx?: number;
  /** Picture direction of a wheel angle, as an offset on the tip circle. Counter-clockwise, 0 along x. */
  at(angleDeg: number): XyPx;
}

const mean = (values: readonly number[]): number => values.reduce((sum, v) => sum + v, 0) / values.length;

/**
 * The map from the unit circle of the part to its tip circle in the picture, by least squares over the tooth
 * places: the sheet may lie turned or tilted under the camera, so that wheel angles are not picture angles.
 */
export function partFrame(part: PartRecord): PartFrame {
  const centre = part.centre_px;
  const places = (part.teeth?.places ?? []).filter(({ tip_px: [x, y] }) => Number.isFinite(x + y));
  const circle = part.outline?.tip_circle_px ?? [];
  const rim = places.length >= 3 ? places.map((p) => p.tip_px) : circle;
  const radii = rim.map(([x, y]) => Math.hypot(x - centre[0], y - centre[1]));
  const radiusPx = radii.length > 0 ? mean(radii) : 0;
  const affine = places.length >= 3 ? fitAffine(places, centre) : undefined;
  const [a, b, c, d] = affine ?? [radiusPx, 0, 0, -radiusPx];
  const at = (angleDeg: number): XyPx => {
    const cos = Math.cos((angleDeg * Math.PI) / 180);
    const sin = Math.sin((angleDeg * Math.PI) / 180);
    return [a * cos + b * sin, c * cos + d * sin];
  };
  const count = part.teeth?.count ?? 0;
  return {
    centre,
    radiusPx,
    ...(count > 0 && radiusPx > 0 ? { pitchPx: (2 * Math.PI * radiusPx) / count } : {}),
    at,
  };
}

type Place = NonNullable<NonNullable<PartRecord["teeth"]>["places"]>[number];

function fitAffine(places: readonly Place[], centre: XyPx): [number, number, number, number] | undefined {
  let cc = 0;
  let cs = 0;
  let ss = 0;
  let [cx, cy, sx, sy] = [0, 0, 0, 0];
  for (const { angle_deg, tip_px } of places) {
    const cos = Math.cos((angle_deg * Math.PI) / 180);
    const sin = Math.sin((angle_deg * Math.PI) / 180);
    const [x, y] = [tip_px[0] - centre[0], tip_px[1] - centre[1]];
    cc += cos * cos;
    cs += cos * sin;
    ss += sin * sin;
    cx += cos * x;
    cy += cos * y;
    sx += sin * x;
    sy += sin * y;
  }
  const determinant = cc * ss - cs * cs;
  // Teeth seen on one side only leave the other direction open.
  if (determinant < 0.01 * places.length ** 2) return undefined;
  return [
    (ss * cx - cs * sx) / determinant,
    (cc * sx - cs * cx) / determinant,
    (ss * cy - cs * sy) / determinant,
    (cc * sy - cs * cy) / determinant,
  ];
}
