/** A wheel drawn flat and square to the camera, with known teeth: the plainest picture that can be measured. */
import sharp from "sharp";
import type { Sharp } from "sharp";

export interface DrawnWheel {
  readonly teeth: number;
  readonly tipRadiusPx: number;
  readonly rootRadiusPx: number;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly centrePx: readonly [number, number];
}

export const drawnWheel: DrawnWheel = {
  teeth: 36,
  tipRadiusPx: 180,
  rootRadiusPx: 160,
  widthPx: 560,
  heightPx: 480,
  centrePx: [270, 245],
};

/** Brass colour on paper white, softened by 0.7 px as by a lens. */
export function drawWheel(wheel: DrawnWheel = drawnWheel): Sharp {
  const { teeth, tipRadiusPx, rootRadiusPx, widthPx, heightPx, centrePx } = wheel;
  const points: string[] = [];
  for (let i = 0; i < teeth; i++) {
    // Half of the pitch is tooth at the root, a quarter at the tip.
    for (const [share, radius] of [
      [0, rootRadiusPx],
      [0.125, tipRadiusPx],
      [0.375, tipRadiusPx],
      [0.5, rootRadiusPx],
    ] as const) {
      const angle = (2 * Math.PI * (i + share)) / teeth;
      // SVG puts (0, 0) at the corner of the first pixel, we at its centre.
      const x = centrePx[0] + 0.5 + radius * Math.cos(angle);
      const y = centrePx[1] + 0.5 - radius * Math.sin(angle);
      points.push(`${x.toFixed(3)},${y.toFixed(3)}`);
    }
  }
  return sharp(
    Buffer.from(
      `<svg width="${widthPx}" height="${heightPx}"><rect width="100%" height="100%" fill="#f2f1ee"/>
       <polygon points="${points.join(" ")}" fill="#b5893c"/>
       <circle cx="${centrePx[0] + 0.5}" cy="${centrePx[1] + 0.5}" r="14" fill="#f2f1ee"/></svg>`,
    ),
  )
    .removeAlpha()
    .blur(0.7);
}
