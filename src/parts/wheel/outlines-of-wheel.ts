import { pixelFromFace, type FacePlane } from "../face-plane.js";
import type { Part, PartOutlinePx, Point } from "../part.js";
import type { Rim } from "./find-rim.js";
import type { Bore } from "./find-bore.js";

/** Circles, bore and scale bar in the picture, for whoever draws the wheel over it. */
export function outlinesOf(
  face: FacePlane,
  centre: readonly [number, number],
  tipMm: number,
  rootMm: number,
  bore: Bore | undefined,
  scaled: boolean,
): PartOutlinePx {
  const [a, b, c, d] = face.affine;
  const about = (x: number, y: number, radius: number): Point[] => {
    const moved: FacePlane = { ...face, xMm: face.xMm + a * x + b * y, yMm: face.yMm + c * x + d * y };
    return Array.from({ length: 96 }, (_, i) => pixelFromFace(moved, radius, (2 * Math.PI * i) / 96));
  };
  const below: FacePlane = { ...face, yMm: face.yMm - 1.25 * tipMm };
  const barMm = [1, 2, 5, 10, 20, 50].filter((l) => l <= tipMm).at(-1) ?? 1;
  return {
    tipCircle: about(...centre, tipMm),
    rootCircle: about(...centre, rootMm),
    pitchCircle: about(...centre, 0.5 * (tipMm + rootMm)),
    ...(bore === undefined ? {} : { bore: about(bore.xMm, bore.yMm, bore.radiusMm) }),
    ...(scaled
      ? {
          scaleBar: {
            from: pixelFromFace(below, barMm / 2, Math.PI),
            to: pixelFromFace(below, barMm / 2, 0),
            lengthMm: barMm,
          },
        }
      : {}),
  };
}

/** The outline against angle; where it was not seen, as it was before. */
export function rimOf(rim: Rim): NonNullable<Part["rim"]> {
  const n = rim.outlineMm.length;
  const radiusMm = new Float64Array(n);
  const seen = new Uint8Array(n);
  let last = rim.tipMm;
  for (let i = 0; i < n; i++) {
    const r = rim.outlineMm[i]!;
    if (!Number.isNaN(r)) {
      last = r;
      seen[i] = 1;
    }
    radiusMm[i] = last;
  }
  return { startAngleRad: 0, stepRad: (2 * Math.PI) / n, radiusMm, seen };
}
