import type { Photo } from "../photo/index.js";
import type { RoundPart } from "./find/find-round-parts.js";
import type { Part } from "./part.js";
import { contentProbability } from "./settle-wheels.js";
import { countByNetwork, type ReadTeeth } from "./wheel/count-by-network.js";
import type { CountedWheel } from "./wheel/counted-wheel.js";
import { findRim } from "./wheel/find-rim.js";

/** What the network says round a rim that may be a shadow's: not enough to be sure alone. */
const mostInShadow = 0.93;

/** By the network, round the rim of `counted`, or that of a part whose teeth no contrast shows at all. */
export async function countPartByNetwork(
  photo: Photo,
  { contrast, face, radiusMm, shadowy }: RoundPart,
  counted: CountedWheel | undefined,
  readTeeth: ReadTeeth | undefined,
): Promise<CountedWheel | undefined> {
  if (readTeeth === undefined) return undefined;
  const rim = counted?.rim ?? findRim(photo, contrast, face, radiusMm);
  const wheel = rim && (await countByNetwork(photo, { rim, contrast }, readTeeth));
  if (wheel === undefined || !shadowy) return wheel;
  const probability = Math.min(wheel.count.probability, mostInShadow);
  return { ...wheel, count: { ...wheel.count, probability } };
}

/**
 * A count was made less sure by the outline as measured, and the network for teeth says the same count surely. Told by
 * lightness, that is no second opinion: wheel and hard shadow as one outline have a tooth more for each pitch that they
 * are longer round, and where the shadow is as dark as the metal the network reads its teeth as it reads the wheel's.
 */
export async function isDoubtedWrongly(
  photo: Photo,
  part: RoundPart,
  wheel: CountedWheel,
  measured: Part,
  readTeeth: ReadTeeth | undefined,
): Promise<boolean> {
  const { count } = wheel;
  const doubted = (measured.teeth?.probability ?? 1) < Math.min(count.probability, contentProbability);
  if (!doubted || wheel.readSurely || part.shadowy || wheel.contrast.growth === 0) return false;
  const read = await countPartByNetwork(photo, part, wheel, readTeeth);
  return read?.count.count === count.count && read.count.probability >= contentProbability;
}
