import { medianOf } from "../../fit/index.js";
import type { Point } from "../../parts/index.js";
import type { InputId } from "../../quantity/index.js";
import { findArbor } from "../arbor/find-arbor.js";
import { arborLikeness, matchArbor, type ArborMatch } from "../arbor/match-arbor.js";
import { showsTurn } from "../arbor/shows-turn.js";
import { leanOf } from "../centre-seen.js";
import type { WheelPhoto } from "../set-photo.js";
import { turnCandidates } from "../turn/turn-candidates.js";

/** Where wheel and arbor stood in one photograph. mm and rad; mat frame where nothing else is said. */
export interface PlayReading {
  /** Turn of the wheel against the first photograph. */
  readonly turnRad: number;
  /** Middle of the arbor as seen on the plane of the face, from the centre of the tooth circle. */
  readonly arborMm: Point;
  readonly uArborMm: number;
  /** How far it leans outwards in the picture for each mm of height; the same for each input of the view. */
  readonly lean: Point;
  readonly leanTerms: readonly { readonly id: InputId; readonly dx: number; readonly dy: number }[];
  /** Arbor against wheel, less that of the first photograph. */
  readonly twistRad: number;
  readonly uTwistRad: number;
  /** Uncertainty of the tooth circle's centre, apart from the wall that all photographs share. */
  readonly uCentreMm: number;
  readonly centreWallMm: Point;
  /** Slope of the face along x and y, up to a share that is the same in all photographs. */
  readonly slope: Point;
  readonly uSlope: number;
  readonly slopeWall: Point;
  /** How much a slope moves the centre that was measured, mm for each unit of slope. */
  readonly centrePerSlopeMm: number;
}

/** The search for the arbor's turn against the wheel, rad, and its step. */
const searchRad = 0.22;
const stepRad = Math.PI / 180;
/** Below this the pictures of the arbor have too little in common to be laid over each other. */
const leastLikeness = 0.5;
/** Of two ways to see it, one is out of the question if it costs so much more (log-likelihood). */
const nearlyAsLike = 6;
/** What a wholly unlike arbor costs. */
const worthOfLikeness = 150;
/** Wheels twist on their arbors by a degree or two, if at all, before anybody takes photographs. */
const usualTwistRad = 0.06;
const nudgeRad = 0.35;
/** Edges of the arbor are found no better than this, px, whatever the fit says. */
const floorPx = 0.06;

interface MatchedTurn {
  readonly turnRad: number;
  readonly match: ArborMatch;
  readonly twistRad: number;
  readonly cost: number;
}

export type ReadPlay =
  | {
      readonly ok: true;
      readonly readings: readonly PlayReading[];
      /** The wheel may have been turned with its arbor, or twisted on it: both look alike. */
      readonly turnIsOpen: boolean;
      /** False for a round arbor: nothing on it shows how it is turned. */
      readonly showsTurn: boolean;
    }
  | { readonly ok: false; readonly files: readonly string[] };

/** Reads wheel and arbor of every photograph against the first; or says in which photographs no arbor is found. */
export function readPlay(photos: readonly WheelPhoto[]): ReadPlay {
  const [first] = photos;
  const spots = photos.map(({ marks }) => findArbor(marks.hub));
  const missing = photos.filter((_, k) => spots[k] === undefined);
  if (first === undefined || missing.length > 0) return { ok: false, files: missing.map((p) => p.file) };
  const from = spots[0]!;
  let turnIsOpen = false;
  const found = photos.map(({ marks }, k) => {
    if (k === 0) return { turnRad: 0, match: undefined };
    const candidates = turnCandidates(first.marks, marks, false);
    const open = candidates.filter((c) => c.logLikelihood > candidates[0]!.logLikelihood - nearlyAsLike);
    const matched = open
      .flatMap(({ turnRad, logLikelihood }): MatchedTurn[] => {
        const start = bestStart(photos, k, turnRad);
        const match = matchArbor(first.marks.hub, from, marks.hub, spots[k]!, start);
        if (match === undefined) return [];
        const twistRad = wrapped(match.turnRad - turnRad);
        const unlike = 1 - match.likeness;
        return [
          {
            turnRad,
            match,
            twistRad,
            cost: -logLikelihood + unlike * worthOfLikeness + (twistRad / usualTwistRad) ** 2,
          },
        ];
      })
      .sort((a, b) => a.cost - b.cost);
    const [best] = matched;
    if (best === undefined) return { turnRad: 0, match: undefined };
    // A wheel that looks alike after a crossing may have twisted, or may have been turned with its arbor: if only the
    // second makes it tight, and it was hardly turned by the first, as when it is nudged, nobody can say.
    const nudged = matched.some(
      (c) =>
        c.cost < best.cost + nearlyAsLike &&
        Math.abs(c.twistRad) > Math.abs(best.twistRad) + usualTwistRad / 3 &&
        smallTurn(c.turnRad) &&
        !smallTurn(best.turnRad),
    );
    if (nudged) turnIsOpen = true;
    return { turnRad: best.turnRad, match: best.match };
  });
  const failed = photos.filter((_, k) => k > 0 && !((found[k]!.match?.likeness ?? 0) >= leastLikeness));
  if (failed.length > 0) return { ok: false, files: failed.map((p) => p.file) };
  // The noise of the first photograph is in all comparisons with it: half of the variance is its own.
  const matches = found.slice(1).map(({ match }) => match!);
  const half = Math.SQRT1_2;
  const uFirst = {
    shift: half * medianOf(matches.map((m) => m.uShiftMm)),
    turn: half * medianOf(matches.map((m) => m.uTurnRad)),
  };
  return {
    ok: true,
    turnIsOpen,
    showsTurn: photos.every(({ marks }, k) => showsTurn(marks.hub, spots[k]!)),
    readings: photos.map(({ marks }, k): PlayReading => {
      const { turnRad, match } = found[k]!;
      const up = marks.cameraMm[2] - marks.outlineMm;
      const slopePerMm = up / marks.tipRadiusMm ** 2;
      const floor = floorPx / marks.pxPerMm;
      const twist = match === undefined ? 0 : wrapped(match.turnRad - turnRad);
      const lean = leanOf(marks);
      return {
        turnRad,
        arborMm: match === undefined ? [from.xMm, from.yMm] : [match.xMm, match.yMm],
        uArborMm: Math.hypot(floor, match === undefined ? uFirst.shift : half * match.uShiftMm),
        lean,
        leanTerms: marks.centreTerms.map(({ id, cameraMm: [x, y, z] }) => ({
          id,
          dx: -(x + lean[0] * z) / up,
          dy: -(y + lean[1] * z) / up,
        })),
        twistRad: twist,
        uTwistRad: Math.hypot(
          match === undefined ? uFirst.turn : half * match.uTurnRad,
          marks.uToothPhaseRad,
        ),
        uCentreMm: marks.uCentreMm,
        centreWallMm: [marks.centreWallMm[0] * marks.uWallShare, marks.centreWallMm[1] * marks.uWallShare],
        slope: [marks.tipsOffMm[0] * slopePerMm, marks.tipsOffMm[1] * slopePerMm],
        uSlope: marks.uTipsOffMm * slopePerMm,
        slopeWall: [
          marks.wallMm[0] * slopePerMm * marks.uWallShare,
          marks.wallMm[1] * slopePerMm * marks.uWallShare,
        ],
        centrePerSlopeMm: marks.tipsWeight / slopePerMm,
      };
    }),
  };

  function bestStart(all: readonly WheelPhoto[], k: number, turnRad: number): number {
    let best = { start: turnRad, likeness: -1 };
    for (let d = -searchRad; d <= searchRad; d += stepRad) {
      const likeness = arborLikeness(all[0]!.marks.hub, from, all[k]!.marks.hub, spots[k]!, turnRad + d);
      if (likeness > best.likeness) best = { start: turnRad + d, likeness };
    }
    return best.start;
  }
}

const smallTurn = (turnRad: number): boolean => Math.abs(wrapped(turnRad)) < nudgeRad;
const wrapped = (rad: number): number => Math.atan2(Math.sin(rad), Math.cos(rad));
