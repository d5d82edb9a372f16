/**
 * Sets of photographs at the level of geometry: true places in space, pinhole cameras, normal noise. Written from
 * the geometry alone; shares no code with src/survey (the random numbers are those of the test scenes).
 */
import { random, type Random } from "../scenes/index.js";
import type { CentreSeen } from "../../src/survey/turn/solve-turn.js";
import type { PlayReading } from "../../src/survey/play/read-play.js";
import type { PointSeen } from "../../src/survey/height/solve-height.js";

export { random, type Random };

/** What the edges of a 12-megapixel photograph at 10 px/mm leave open: 0.06 px. */
export const uEdgeMm = 0.006;

export interface TurnTruth {
  readonly centres: readonly CentreSeen[];
  readonly turnsRad: readonly number[];
  readonly offsetMm: readonly [number, number];
  readonly axisMm: readonly [number, number];
}

/** A wheel off its axis by `eccentricityMm`, turned on; `heightErrorMm` is what its face really lies higher. */
export function simulateTurn(rng: Random, eccentricityMm: number, photos: number): TurnTruth {
  const axis = [rng.uniform(-60, 60), rng.uniform(-90, 90)] as const;
  const direction = rng.uniform(0, 2 * Math.PI);
  const uHeight = 0.1;
  const heightError = rng.normal(uHeight);
  const turnsRad: number[] = [];
  const centres: CentreSeen[] = [];
  for (let k = 0; k < photos; k++) {
    const turn = (2 * Math.PI * k) / photos + rng.normal(0.2);
    turnsRad.push(turn);
    const camera = [axis[0] + rng.normal(25), axis[1] + rng.normal(25), 400 + rng.normal(15)] as const;
    const x = axis[0] + eccentricityMm * Math.cos(direction + turn);
    const y = axis[1] + eccentricityMm * Math.sin(direction + turn);
    // Seen on a plane that lies `heightError` too low: further from the foot point.
    const blowUp = camera[2] / (camera[2] - heightError);
    const seenX = camera[0] + (x - camera[0]) * blowUp;
    const seenY = camera[1] + (y - camera[1]) * blowUp;
    centres.push({
      centreMm: [seenX + rng.normal(uEdgeMm), seenY + rng.normal(uEdgeMm)],
      terms: [
        { id: `fit:x-${k}`, dxMm: uEdgeMm, dyMm: 0 },
        { id: `fit:y-${k}`, dxMm: 0, dyMm: uEdgeMm },
        {
          id: "height:face",
          dxMm: (-uHeight * (x - camera[0])) / camera[2],
          dyMm: (-uHeight * (y - camera[1])) / camera[2],
        },
      ],
    });
  }
  const start = direction + turnsRad[0]!;
  return {
    centres,
    turnsRad,
    offsetMm: [eccentricityMm * Math.cos(start), eccentricityMm * Math.sin(start)],
    axisMm: axis,
  };
}

export interface PlayWishes {
  readonly photos: number;
  /** Greatest distance between two places of the wheel on its arbor. */
  readonly radialMm?: number;
  readonly twistRad?: number;
  readonly rockRad?: number;
  /** The camera stands on a stand; otherwise it is held in the hand. */
  readonly stand: boolean;
  /** Wheel and arbor are moved and turned about together between the photographs. */
  readonly movedAbout?: boolean;
  /** Wheel and arbor lean over together by this. */
  readonly leanRad?: number;
}

/** 12 megapixels: edges of the arbor, its turn, and the slope of the face, each with normal noise. */
const uTwistRad = 0.0007;
const uSlope = 0.004;

export function simulatePlay(rng: Random, wishes: PlayWishes): PlayReading[] {
  const { photos, radialMm = 0, twistRad = 0, rockRad = 0, leanRad = 0 } = wishes;
  const arborHeight = rng.uniform(2.5, 8);
  const offset = [rng.normal(0.1), rng.normal(0.1)] as const;
  const away = rng.uniform(0, 2 * Math.PI);
  const light = [rng.normal(0.003), rng.normal(0.003)] as const;
  let camera = [rng.normal(20), rng.normal(20), 400];
  let at = [rng.normal(10), rng.normal(10)];
  const readings: PlayReading[] = [];
  for (let k = 0; k < photos; k++) {
    if (!wishes.stand && k > 0) camera = [rng.normal(20), rng.normal(20), 400 + rng.normal(10)];
    if (wishes.movedAbout && k > 0) at = [rng.normal(10), rng.normal(10)];
    const turn = wishes.movedAbout ? rng.uniform(0, 6) : rng.normal(0.01);
    // To and fro across the axis, then across that.
    const step = away + Math.PI * k + (k > 1 ? Math.PI / 2 : 0);
    const play = [(radialMm / 2) * Math.cos(step), (radialMm / 2) * Math.sin(step)] as const;
    const twist = (k % 2 === 0 ? -0.5 : 0.5) * twistRad;
    const tiltAngle = away + Math.PI * k;
    const tilt = [
      ((rockRad + leanRad) / 2) * Math.cos(tiltAngle),
      ((rockRad + leanRad) / 2) * Math.sin(tiltAngle),
    ] as const;
    const follows = leanRad > 0 ? 1 : 0;
    // Where the upper end of the arbor stands: over its foot, or leaning with the face (down the slope).
    const c = Math.cos(turn);
    const s = Math.sin(turn);
    const foot = [
      at[0]! + c * offset[0] - s * offset[1] + play[0],
      at[1]! + s * offset[0] + c * offset[1] + play[1],
    ] as const;
    const end = [
      foot[0] - follows * arborHeight * tilt[0],
      foot[1] - follows * arborHeight * tilt[1],
    ] as const;
    const blowUp = camera[2]! / (camera[2]! - arborHeight);
    const seen = [
      camera[0]! + (end[0] - camera[0]!) * blowUp,
      camera[1]! + (end[1] - camera[1]!) * blowUp,
    ] as const;
    const slope = [tilt[0] + light[0] + rng.normal(uSlope), tilt[1] + light[1] + rng.normal(uSlope)] as const;
    const arborMm = [
      seen[0] - at[0]! + rng.normal(uEdgeMm * Math.SQRT2),
      seen[1] - at[1]! + rng.normal(uEdgeMm * Math.SQRT2),
    ] as const;
    readings.push({
      turnRad: turn,
      arborMm,
      uArborMm: uEdgeMm,
      lean: [(at[0]! - camera[0]!) / camera[2]!, (at[1]! - camera[1]!) / camera[2]!],
      leanTerms: [],
      twistRad: twist + rng.normal(uTwistRad),
      uTwistRad,
      uCentreMm: uEdgeMm,
      centreWallMm: [0, 0],
      slope,
      slopeTerms: [
        { id: `fit:slope-x-${k}`, dx: uSlope, dy: 0 },
        { id: `fit:slope-y-${k}`, dx: 0, dy: uSlope },
      ],
      // The simulated centre is the true one: no slope has moved it.
      arborFromSpacingMm: arborMm,
      spacingWallMm: [0, 0],
      uSpacingMm: uEdgeMm,
    });
  }
  return readings;
}

/** A point `heightMm` over the assumed plane, seen by cameras that stand `apartMm` from each other. */
export function simulateHeight(rng: Random, heightMm: number, apartMm: number, photos: number): PointSeen[] {
  const at = [rng.normal(20), rng.normal(20)] as const;
  return Array.from({ length: photos }, (_, k): PointSeen => {
    const a = (2 * Math.PI * k) / photos;
    const camera = [
      at[0] + (apartMm / 2) * Math.cos(a) + rng.normal(5),
      at[1] + (apartMm / 2) * Math.sin(a) + rng.normal(5),
      380,
    ] as const;
    const seen = [0, 1].map(
      (i) => camera[i]! + ((at[i]! - camera[i]!) * camera[2]) / (camera[2] - heightMm) + rng.normal(uEdgeMm),
    ) as [number, number];
    return {
      seenMm: seen,
      lean: [(seen[0] - camera[0]) / camera[2], (seen[1] - camera[1]) / camera[2]],
      terms: [
        { id: `fit:x-${k}`, dxMm: uEdgeMm, dyMm: 0 },
        { id: `fit:y-${k}`, dxMm: 0, dyMm: uEdgeMm },
      ],
    };
  });
}
