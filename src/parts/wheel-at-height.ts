import type { ViewGeometry } from "../geometry/index.js";
import type { Photo } from "../photo/index.js";
import { countPartByNetwork } from "./count-part-by-network.js";
import type { FacePlane } from "./face-plane.js";
import { soundProbability, type Candidate } from "./settle-wheels.js";
import type { ReadTeeth } from "./wheel/count-by-network.js";
import { countByFace, countWheel, type CountedWheel } from "./wheel/counted-wheel.js";

const mostAtOneHeight = 0.6;
/** Of the probability that one way of looking gives: less than this does not speak against a count. */
const mostLostByHeight = 0.1;

/**
 * The same wheel lying flat, at this height: on another plane its outline is smaller or larger, and centred elsewhere. So it
 * is on the plane of a lean that was not confirmed.
 */
export async function wheelAtHeight(
  photo: Photo,
  geometry: ViewGeometry,
  candidate: Candidate,
  outlineMm: number,
  readTeeth: ReadTeeth | undefined,
): Promise<CountedWheel> {
  const { rim, lean } = candidate.wheel;
  if (lean === undefined && Math.abs(outlineMm - rim.face.zMm) < 1e-6) return candidate.wheel;
  return wheelOnFace(photo, candidate, { ...rim.face, geometry, zMm: outlineMm }, readTeeth);
}

/** The same wheel, looked for and counted once more on another plane. */
export async function wheelOnFace(
  photo: Photo,
  { part, wheel }: Candidate,
  face: FacePlane,
  readTeeth: ReadTeeth | undefined,
): Promise<CountedWheel> {
  const start = { ...part, face, radiusMm: wheel.rim.tipMm };
  const there = countWheel(photo, start.contrast, start.face, start.radiusMm);
  const again = wheel.byNetwork
    ? await countPartByNetwork(photo, start, there, readTeeth)
    : there && wheel.byFace
      ? countByFace(photo, there)
      : there;
  if (again === undefined) return wheel;
  // What was weighed against other ways of looking stands, as long as this plane does not speak against it.
  const same = again.count.count === wheel.count.count;
  const least = Math.min(soundProbability, (wheel.alone ?? 1) - mostLostByHeight);
  const sound = same && again.count.probability >= least;
  const probability = sound
    ? wheel.count.probability
    : Math.min(again.count.probability, same ? wheel.count.probability : mostAtOneHeight);
  const { rim, contrast } = again;
  const { alone, unshadowed, readSurely } = wheel;
  return {
    rim,
    contrast,
    count: { ...again.count, probability },
    ...(sound && alone !== undefined && { alone }),
    ...(sound && unshadowed !== undefined && { unshadowed }),
    ...(sound && readSurely && { readSurely }),
  };
}
