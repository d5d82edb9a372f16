import { medianOf } from "../../fit/index.js";
import { nearestTurn } from "../../geometry/index.js";
import type { Point, WheelMarks } from "../../parts/index.js";
import type { InputId } from "../../quantity/index.js";
import { findArbor } from "../arbor/find-arbor.js";
import { arborLikeness, matchArbor, type ArborMatch } from "../arbor/match-arbor.js";
import { showsTurn } from "../arbor/shows-turn.js";
import { steelPictures } from "../arbor/steel-picture.js";
import { leanOf } from "../centre-seen.js";
import type { WheelPhoto } from "../set-photo.js";
import { turnCandidates } from "../turn/turn-candidates.js";
import { arborHeightMm } from "./arbor-height.js";
import { solveSlopes, type Slopes } from "./solve-slopes.js";

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
  /** The arbor from the centre that the spacing of the teeth gives, which no slope of the face moves. */
  readonly arborFromSpacingMm: Point;
  readonly uSpacingMm: number;
  readonly spacingWallMm: Point;
  /** Slope of the face along x and y, up to a share that is the same in all photographs, and what inputs do to it. */
  readonly slope: Point;
  readonly slopeTerms: readonly { readonly id: InputId; readonly dx: number; readonly dy: number }[];
}

/** The search for the arbor's turn against the wheel, rad, and its step. */
const searchRad = 0.22;
const stepRad = Math.PI / 180;
/** Below this the pictures of the arbor have too little in common to be laid over each other. */
const leastLikeness = 0.5;
/** Of two ways to see it, one is out of the question if it costs so much more (log-likelihood). */
const nearlyAsLike = 6;
/** Of the ring round an arbor, this much may be no wheel where the arbor stands clear of the crossings. */
const mostOpen = 0.03;
/** What a wholly unlike arbor costs. */
const worthOfLikeness = 150;
/** Wheels twist on their arbors by a degree or two, if at all, before anybody takes photographs. */
const usualTwistRad = 0.06;
const nudgeRad = 0.35;
/**
 * An arbor is held as a rule, and keeps its turn to about 2 degrees; or wheel and arbor were moved about, by any turn. A
 * pinion that looks alike after a leaf and a wheel that does after a crossing leave several turns open: of those, one by
 * which the arbor would have come to stand as it stood is no chance.
 */
const heldRad = 0.035;
const heldShare = 0.5;
/** A twist that noise may make, in standard uncertainties. */
const noTwist = 3;
/** Edges are found no better than this, px, whatever the fit says: as long as nothing changes, and at all. */
const floorPx = { still: 0.035, moved: 0.06 };
/** The same light falls on the same edges while camera and wheel move by less than this: lean, and turn in rad. */
const sameLight = { lean: 0.05, turnRad: 0.3 };

/** From another side the leaves of a pinion cover the face otherwise, which looks like a twist of so much, rad. */
const uTwistPerLean = 0.025;
/**
 * What stands high over the face is drawn out over the leaves, further from one side than from another: by a whole radius
 * of the arbor, pictures that are no longer alike say so much less of its turn (found on drawn pinions with rods on them).
 */
const uTwistDrawnOut = 0.15;
/** Height of the middle of an arbor over the face, in radii, where it is not told (common practice, no source). */
const usualSlender = 2;
/** As alike as pictures are from one place, and so much less that nothing is left of that. */
const alike = { still: 0.98, lost: 0.1 };
/** Drawn out by so much, in radii, likeness is worth half. */
const halfWorth = 0.2;

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
      /** Turns nearly as likely would make a wheel that twisted a tight one. */
      readonly mayBeTight: boolean;
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
  // Glints on steel are as bright as paper: it is taken out only where it touches the arbor.
  const hubs = spots.every((spot) => spot!.openShare < mostOpen)
    ? photos.map(({ marks }) => marks.hub)
    : steelPictures(photos.map(({ marks }) => marks));
  const leans = photos.map(({ marks }) => leanOf(marks));
  const firstLean = leans[0]!;
  const fromFirst = leans.map((l) => Math.hypot(l[0] - firstLean[0], l[1] - firstLean[1]));
  const heightMm = arborHeightMm(
    spots.map((spot): Point => [spot!.xMm, spot!.yMm]),
    leans,
  );
  const slender = heightMm === undefined ? usualSlender : heightMm / Math.sqrt(from.areaMm2 / Math.PI);
  const drawnOut = fromFirst.map((lean) => lean * slender);
  let turnIsOpen = false;
  let costOfTight = 0;
  const found = photos.map(({ marks }, k) => {
    if (k === 0) return { turnRad: 0, match: undefined };
    const candidates = turnCandidates(first.marks, marks, false);
    const open = candidates.filter((c) => c.logLikelihood > candidates[0]!.logLikelihood - nearlyAsLike);
    const matched = open
      // From another side the likeliest start may lead to the next leaf: the turn of the wheel itself is tried as well.
      .flatMap(({ turnRad, logLikelihood }) =>
        [bestStart(k, turnRad), turnRad].flatMap((start): MatchedTurn[] => {
          const match = matchArbor(hubs[0]!, from, hubs[k]!, spots[k]!, start);
          if (match === undefined) return [];
          const twistRad = nearestTurn(match.turnRad - turnRad);
          const unlike = 1 - match.likeness;
          return [
            {
              turnRad,
              match,
              twistRad,
              cost:
                -logLikelihood +
                (unlike * worthOfLikeness) / (1 + drawnOut[k]! / halfWorth) +
                (twistRad / usualTwistRad) ** 2 +
                costOfArborTurn(match.turnRad),
            },
          ];
        }),
      )
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
    // Whoever turns wheel and arbor likes to turn them to where they look alike: here the pictures alone count.
    const pictures = (all: readonly MatchedTurn[]): number =>
      Math.min(...all.map(({ cost, match }) => cost - costOfArborTurn(match.turnRad)));
    const still = matched.filter(
      ({ match, twistRad }) =>
        Math.abs(twistRad) < noTwist * Math.hypot(match.uTurnRad, Math.SQRT2 * marks.uToothPhaseRad),
    );
    costOfTight += pictures(still) - pictures(matched);
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
  const slopes = solveSlopes(
    photos.map(({ marks }) => marks),
    found.map(({ turnRad }) => turnRad),
  );
  const meanLean = [0, 1].map((i) => leans.reduce((sum, l) => sum + l[i]! / leans.length, 0)) as [
    number,
    number,
  ];
  const meanTurn = Math.atan2(
    found.reduce((sum, { turnRad }) => sum + Math.sin(turnRad), 0),
    found.reduce((sum, { turnRad }) => sum + Math.cos(turnRad), 0),
  );
  return {
    ok: true,
    turnIsOpen,
    mayBeTight: costOfTight < nearlyAsLike,
    showsTurn: hubs.every((hub, k) => showsTurn(hub, spots[k]!)),
    readings: photos.map(({ marks }, k): PlayReading => {
      const { turnRad, match } = found[k]!;
      const lean = leans[k]!;
      const up = marks.cameraMm[2] - marks.outlineMm;
      const slopePerMm = up / marks.tipRadiusMm ** 2;
      const change = Math.min(
        1,
        Math.hypot(lean[0] - meanLean[0], lean[1] - meanLean[1]) / sameLight.lean +
          Math.abs(nearestTurn(turnRad - meanTurn)) / sameLight.turnRad,
      );
      const floor = Math.hypot(floorPx.still, change * floorPx.moved) / marks.pxPerMm;
      const between = (u: number, uScatter: number): number =>
        Math.hypot(floorPx.still / marks.pxPerMm, uScatter, change * u);
      const twist = match === undefined ? 0 : nearestTurn(match.turnRad - turnRad);
      const arborMm: Point = match === undefined ? [from.xMm, from.yMm] : [match.xMm, match.yMm];
      const lost = match === undefined ? 0 : (alike.still - match.likeness) / alike.lost;
      return {
        turnRad,
        arborMm,
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
          uTwistPerLean * fromFirst[k]!,
          uTwistDrawnOut * drawnOut[k]! * Math.min(1, Math.max(0, lost)),
        ),
        uCentreMm: between(marks.uCentreMm, marks.uCentreScatterMm),
        centreWallMm: [marks.centreWallMm[0] * marks.uWallShare, marks.centreWallMm[1] * marks.uWallShare],
        arborFromSpacingMm: [
          arborMm[0] + marks.tipsWeight * marks.tipsOffMm[0],
          arborMm[1] + marks.tipsWeight * marks.tipsOffMm[1],
        ],
        uSpacingMm: between(marks.uSpacingMm, marks.uSpacingScatterMm),
        spacingWallMm: [marks.spacingWallMm[0] * marks.uWallShare, marks.spacingWallMm[1] * marks.uWallShare],
        slope: slopes?.slopes[k] ?? [marks.tipsOffMm[0] * slopePerMm, marks.tipsOffMm[1] * slopePerMm],
        slopeTerms: slopes === undefined ? slopeTermsOf(marks, k, slopePerMm) : termsAt(slopes, k),
      };
    }),
  };

  function bestStart(k: number, turnRad: number): number {
    let best = { start: turnRad, likeness: -1 };
    for (let d = -searchRad; d <= searchRad; d += stepRad) {
      const likeness = arborLikeness(hubs[0]!, from, hubs[k]!, spots[k]!, turnRad + d);
      if (likeness > best.likeness) best = { start: turnRad + d, likeness };
    }
    return best.start;
  }
}

/** The slope as tips against spacing of a single photograph give it. */
const slopeTermsOf = (marks: WheelMarks, k: number, perMm: number): PlayReading["slopeTerms"] => [
  { id: `fit:slope-x-${k}`, dx: marks.uTipsOffMm * perMm, dy: 0 },
  { id: `fit:slope-y-${k}`, dx: 0, dy: marks.uTipsOffMm * perMm },
  {
    id: "edge:wall",
    dx: marks.wallMm[0] * perMm * marks.uWallShare,
    dy: marks.wallMm[1] * perMm * marks.uWallShare,
  },
];

const termsAt = ({ terms }: Slopes, k: number): PlayReading["slopeTerms"] =>
  [...terms].map(([id, t]) => ({ id, dx: t[2 * k]!, dy: t[2 * k + 1]! }));

const costOfArborTurn = (turnRad: number): number =>
  -Math.log(
    (heldShare * Math.exp(-0.5 * (nearestTurn(turnRad) / heldRad) ** 2)) /
      (heldRad * Math.sqrt(2 * Math.PI)) +
      (1 - heldShare) / (2 * Math.PI),
  );
const smallTurn = (turnRad: number): boolean => Math.abs(nearestTurn(turnRad)) < nudgeRad;
