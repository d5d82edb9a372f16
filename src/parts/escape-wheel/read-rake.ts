import { medianOf } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import type { TurnDirection } from "../part.js";
import type { CountedWheel } from "../wheel/counted-wheel.js";
import { readToothPlaces } from "../wheel/tooth-places.js";

/** Leaning by less than this, in pitches from the inner to the outer half of a tooth, the teeth point nowhere. */
const leastLean = 0.02;
/** Of the teeth that are seen, so many must lean the same way. */
const leastAgreement = 0.8;

/**
 * Which way the teeth of an escape or ratchet wheel point, seen from the camera: the way in which the outer half of a
 * tooth stands ahead of its inner half. Its steep faces look that way.
 */
export function readRake(photo: Photo, { rim, contrast, count }: CountedWheel): TurnDirection | undefined {
  const places = readToothPlaces(photo, contrast, rim, count);
  const leans = [...places.offsetOuter]
    .map((outer, k) => outer - places.offsetInner[k]!)
    .filter(Number.isFinite);
  if (leans.length < 0.5 * places.count) return undefined;
  const lean = medianOf(leans);
  const agree = leans.filter((l) => Math.sign(l) === Math.sign(lean)).length / leans.length;
  if (Math.abs(lean) < leastLean || agree < leastAgreement) return undefined;
  return lean > 0 ? "counter-clockwise" : "clockwise";
}
