import type { Photo } from "../../photo/index.js";
import type { Contrast } from "../contrast.js";
import type { LeanFit } from "../leaning/fit-lean.js";
import { pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import { countTeeth, evenScatter, type ToothCount } from "./count-teeth.js";
import { readFaceLikeness } from "./face-likeness.js";
import { findRim, type Rim } from "./find-rim.js";
import { readRimSignal, type Band } from "./rim-signal.js";
import { doubtShadows } from "./shadows.js";

/** A wheel whose teeth were counted, before anything is measured in mm. */
export interface CountedWheel {
  readonly rim: Rim;
  readonly contrast: Contrast;
  readonly count: ToothCount;
  /** What the count would be worth if it were known that no shadow passes for metal; only where that lowered it. */
  readonly unshadowed?: number;
  /** What this way of telling metal alone makes of the count, where another made it surer. */
  readonly alone?: number;
  /** Counted by the network that reads strips of rims. */
  readonly byNetwork?: true;
  /** That network says the same surely, round a rim that is no shadow's. */
  readonly readSurely?: true;
  /** Counted by likeness to the face, round a rim told by colour. */
  readonly byFace?: true;
  /** It was counted on a plane that leans against the mat. */
  readonly lean?: LeanFit;
}

export function countWheel(
  photo: Photo,
  contrast: Contrast,
  face: FacePlane,
  radiusMm: number,
): CountedWheel | undefined {
  const rim = findRim(photo, contrast, face, radiusMm);
  if (rim === undefined || rim.seen < 0.25) return undefined;
  const count = countTeeth(readRimSignal(photo, contrast, rim));
  if (count === undefined) return undefined;
  const sure = doubtShallow(rim, countAgain(photo, contrast, rim, count));
  const doubted = doubtShadows(contrast, rim, sure);
  return { rim, contrast, count: doubted, ...(doubted !== sure && { unshadowed: sure.probability }) };
}

/** With fewer teeth the strongest line may as well come from crossings or light. */
const fewestByLine = 24;
/** Most that a count by likeness to the face is worth: where colour's strongest line says the same, and where not. */
const mostByFace = { backed: 0.985, alone: 0.8 };

/**
 * Teeth too fine for colour counted by their likeness to the face (`face-likeness.ts`): alone it may slip a tooth
 * where paper or shade is as light as the metal, so it needs another to say the same.
 *
 * @param byColour the same wheel, counted by a colour in which no shadow has a part.
 */
export function countByFace(photo: Photo, byColour: CountedWheel): CountedWheel | undefined {
  const { rim, contrast } = byColour;
  const count = countTeeth(readFaceLikeness(photo, rim, readRimSignal(photo, contrast, rim)));
  if (count === undefined) return undefined;
  const isBacked = count.count >= fewestByLine && byColour.count.spectralCount === count.count;
  const probability = Math.min(count.probability, isBacked ? mostByFace.backed : mostByFace.alone);
  return { rim, contrast, count: doubtShallow(rim, { ...count, probability }), byFace: true };
}

/** Teeth so few are large enough in any picture for their depth to be seen. */
const fewTeeth = 20;
/** Of the pitch. A tooth of cycloidal or involute form is 0.7 deep, a ratchet tooth 0.4 at least. */
const leastDepth = 0.25;
const mostShallow = 0.2;

/** The slot of a screw, the hole of a washer and the reeds of a coin make a rim wave a little: those are no teeth. */
export function doubtShallow(rim: Rim, count: ToothCount): ToothCount {
  const pitchMm = (2 * Math.PI * rim.tipMm) / count.count;
  if (count.count > fewTeeth || rim.tipMm - rim.rootMm > leastDepth * pitchMm) return count;
  return { ...count, probability: Math.min(count.probability, mostShallow) };
}

const halves: readonly Band[] = [
  { from: 0.08, to: 0.42 },
  { from: 0.58, to: 0.9 },
];

/**
 * Where teeth stray, roots and tips are counted apart: on a thick wheel seen from the side the outline changes from
 * the upper to the lower edge on its way round, and may gain or lose a tooth. Both must give the same count.
 */
function countAgain(photo: Photo, contrast: Contrast, rim: Rim, count: ToothCount): ToothCount {
  if (count.scatter < evenScatter || (rim.tipMm - rim.rootMm) * pxPerMmOnFace(rim.face) < 5) return count;
  const others = halves
    .map((band) => countTeeth(readRimSignal(photo, contrast, rim, band)))
    .filter((other) => other !== undefined && other.probability > 0.3 && other.count !== count.count)
    .map((other) => other!.count);
  if (others.length === 0) return count;
  const probability = Math.min(count.probability, 0.55);
  const rest = (1 - probability) / (others.length + 1);
  return {
    ...count,
    probability,
    alternatives: [
      ...[...new Set(others)].map((n) => ({ count: n, probability: rest })),
      ...count.alternatives
        .filter((a) => !others.includes(a.count))
        .map((a) => ({ ...a, probability: a.probability * rest })),
    ],
  };
}
