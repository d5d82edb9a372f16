import type { FaceHeight } from "../face-height.js";
import { ThickOutline } from "../thick-outline.js";
import { centreHole, type CentredHole } from "./centre-hole.js";
import type { HoleGuess } from "./find-holes.js";
import { findSink } from "./find-sink.js";
import { FaceHere } from "./local-face.js";
import type { PlateFace } from "./plate-face.js";

/** On the dark side of a sink its slope passes for the hole: against so much of the face it does not. */
const dimShare = 0.5;
const narrowerMm = 0.2;
/** Or the bevel of a hole without a sink passes for slope and rim. */
const rimBeyondMm = 0.28;
const muchNarrowerMm = 0.3;
/** Oil sinks belong to pivots, countersinks to screws (common practice, no source), mm. */
const widestSunkMm = 3;

/**
 * The hole in an oil sink, by its edge against the slope; undefined where there is no sink, or no hole in it.
 *
 * @param isHole whether an edge against the slope, and what is within it, is that of a hole.
 */
export function holeInSink(
  hole: CentredHole,
  plate: PlateFace,
  height: FaceHeight,
  isHole: (sunk: CentredHole) => boolean,
): CentredHole | undefined {
  if (hole.here.isBlown || 2 * hole.shape[2] > widestSunkMm + 2 * muchNarrowerMm) return undefined;
  const guessOf = ({ xMm, yMm, shape: [x, y, radiusMm] }: CentredHole): HoleGuess => ({
    ...hole.guess,
    xMm: xMm + x,
    yMm: yMm + y,
    reachMm: radiusMm,
  });
  const sunkAs = (edge: CentredHole, leastRimMm: number): CentredHole | undefined => {
    const guess = guessOf(edge);
    const { xMm, yMm, reachMm: radiusMm } = guess;
    if (2 * radiusMm > widestSunkMm) return undefined;
    const upper = { ...plate.face, xMm: plate.face.xMm + xMm, yMm: plate.face.yMm + yMm };
    const lean = new ThickOutline(upper, 1).lowerShiftMm;
    const sink = findSink(plate, { xMm, yMm, radiusMm }, hole.here, lean);
    if (sink === undefined || !((sink.rim?.radiusMm ?? 0) >= leastRimMm)) return undefined;
    // Light alone may be that of a tint or a neighbour: the edge is left as it is.
    const sunk =
      sink.rim === undefined
        ? { ...hole, sink }
        : centreHole(guess, plate, height, hole.here, hole.isByOwnFace, sink);
    return sunk !== undefined && isHole(sunk) ? sunk : undefined;
  };
  const { level } = hole.here;
  const dim = new FaceHere(plate.signal, {
    light: dimShare * level.light,
    colour: dimShare * level.colour,
  });
  const dimmer = centreHole(guessOf(hole), plate, height, dim, true);
  const narrower = dimmer === undefined ? 0 : hole.shape[2] - dimmer.shape[2];
  const rimMm = narrower > muchNarrowerMm ? hole.shape[2] - muchNarrowerMm : hole.shape[2] + rimBeyondMm;
  return (narrower > narrowerMm ? sunkAs(dimmer!, rimMm) : undefined) ?? sunkAs(hole, 0);
}
