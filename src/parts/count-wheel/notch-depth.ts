import type { Disc } from "../disc/measure-disc.js";
import type { FaceHeight } from "../face-height.js";
import { pxPerMmOnFace } from "../face-plane.js";
import { ThickOutline } from "../thick-outline.js";
import type { Rim } from "../wheel/find-rim.js";
import { usualWall } from "../wheel/weigh-centres.js";

/** What bevels and light leave open of the floor and of the rim together, px. */
const uEdgesPx = 0.6;

export interface NotchDepth {
  readonly depthMm: number;
  readonly uDepthMm: number;
}

/**
 * Depth of a notch at its middle, from the disc's own circle to the upper edge of the notch's floor. Like the rim, a
 * floor that looks towards the foot point of the camera shows its wall below that edge, and a lower edge further out.
 *
 * @param seenDepthMm from the circle of `rim`, which is that of the outline as it is seen.
 */
export function depthOnDisc(
  angleRad: number,
  seenDepthMm: number,
  rim: Rim,
  disc: Disc,
  height: FaceHeight,
): NotchDepth {
  const t = angleRad;
  const besideMm =
    (disc.face.xMm - rim.face.xMm) * Math.cos(t) + (disc.face.yMm - rim.face.yMm) * Math.sin(t);
  const seenMm = rim.tipMm - seenDepthMm - besideMm;
  const wallMm = new ThickOutline(disc.face, height.edgesApartMm).rimExcessMm(t, seenMm);
  return {
    depthMm: disc.radiusMm - seenMm + usualWall.share * wallMm,
    uDepthMm: Math.hypot(uEdgesPx / pxPerMmOnFace(disc.face), usualWall.u * wallMm),
  };
}
