import type { Photo } from "../photo/index.js";
import type { View } from "../view/index.js";
import { measureCountWheel, readCountWheel } from "./count-wheel/measure-count-wheel.js";
import { measureCam, readCam } from "./count-wheel/measure-cam.js";
import { heightOfFace } from "./face-height.js";
import { pixelFromFace, pxPerMmOnFace } from "./face-plane.js";
import type { RoundPart } from "./find/find-round-parts.js";
import type { OtherPart } from "./other-part.js";
import { measurePinnedDisc, smoothRim } from "./pinion/measure-pinned-disc.js";
import { findRim, type Rim } from "./wheel/find-rim.js";

/**
 * Round things without evenly spaced teeth that are clock parts all the same: count wheels, lantern pinions from
 * their end, pin wheels.
 *
 * @param isCounted true where teeth were counted after all: only notches in a known order speak against that.
 * @param round what looked round, in the order of trust; several may lie at one place.
 */
export function findDiscs(
  photo: Photo,
  view: View,
  round: readonly RoundPart[],
  isCounted: (part: RoundPart) => boolean,
): OtherPart[] {
  const found: OtherPart[] = [];
  for (const part of round) {
    if (found.some((f) => Math.hypot(f.xMm - part.face.xMm, f.yMm - part.face.yMm) < 0.5 * f.reachMm))
      continue;
    const rim = findRim(photo, part.contrast, part.face, part.radiusMm);
    if (rim === undefined) continue;
    const measure = measurerOf(photo, view, part, rim, isCounted(part));
    if (measure === undefined) continue;
    found.push({
      centrePx: pixelFromFace(rim.face, 0, 0),
      radiusPx: rim.tipMm * pxPerMmOnFace(rim.face),
      xMm: rim.face.xMm,
      yMm: rim.face.yMm,
      reachMm: rim.tipMm,
      measure: (height, id, label) =>
        measure(photo, view, part.contrast, atHeight(photo, part, rim, height.outlineMm), height, id, label),
    });
  }
  return found;
}

type Measure = typeof measureCountWheel;

/** What a round part is, by trying: notches in a known order; round ends set evenly in a smooth disc. */
function measurerOf(
  photo: Photo,
  view: View,
  part: RoundPart,
  rim: Rim,
  isCounted: boolean,
): Measure | undefined {
  const usual = heightOfFace({}, undefined);
  const read = readCountWheel(photo, view, part.contrast, rim, usual.edgesApartMm);
  if (read?.notches.sequence !== undefined) return measureCountWheel;
  // Pins close to the rim look like notches in it, in no order.
  if (smoothRim(rim) !== undefined) {
    const trial = measurePinnedDisc(photo, view, part.contrast, rim, usual, "trial", undefined);
    if (trial !== undefined) return measurePinnedDisc;
  }
  if (isCounted) return undefined;
  if (read !== undefined) return measureCountWheel;
  const cam = readCam(photo, view, part.contrast, rim, usual.edgesApartMm);
  return cam === undefined ? undefined : measureCam;
}

function atHeight(photo: Photo, part: RoundPart, rim: Rim, outlineMm: number): Rim {
  if (Math.abs(outlineMm - rim.face.zMm) < 1e-6) return rim;
  return findRim(photo, part.contrast, { ...rim.face, zMm: outlineMm }, rim.tipMm) ?? rim;
}
