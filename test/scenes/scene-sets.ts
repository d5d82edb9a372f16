import { randomArbor, randomWheel } from "./random-parts.js";
import { random } from "./random.js";
import type { Random } from "./random.js";
import { sceneOver } from "./scene-base.js";
import type { PictureSize, SceneWishes } from "./scene-base.js";
import type { Scene, ScenePart, WheelPart } from "./scene.js";
import { wheelOutline } from "./wheel-outline.js";

export const sceneSetKinds = [
  "turn-true",
  "turn-eccentric",
  "turn-eccentric-0.10",
  "turn-camera-moved",
  "turn-hidden-bore",
  "turn-raised",
  "turn-askew",
  "turn-askew-close",
  "play-tight",
  "play-tight-stand",
  "play-moved-about",
  "play-radial",
  "play-twist",
  "play-rock",
  "play-radial-0.08",
  "play-twist-1",
  "play-rock-1.5",
  "play-tight-close",
  "play-radial-0.05-close",
  "play-twist-0.3-close",
  "play-rock-1.5-side",
  "height",
] as const;
export type SceneSetKind = (typeof sceneSetKinds)[number];

/** What is true of a whole set. mm and rad; mat frame. */
export interface SceneSetTruth {
  readonly kind: "turn" | "play" | "height";
  readonly label: string;
  readonly faceHeightMm: number;
  /** Where the axis of the arbor passes the plane of the face. */
  readonly axisMm: readonly [number, number];
  /** Distance of the tooth circle's centre from the axis. */
  readonly eccentricityMm: number;
  /** How far the rim rises and falls over a turn: a face askew to its arbor. 0 for a wheel that lies on the sheet. */
  readonly axialRunoutMm: number;
  /** Where wheel and arbor together had been moved to in each photograph, from the axis. */
  readonly movedMm: readonly (readonly [number, number])[];
  /** Turn of the wheel in each photograph. */
  readonly turnsRad: readonly number[];
  /** Wheel against arbor in each photograph: shift along x and y, twist, rock. */
  readonly playMm: readonly (readonly [number, number])[];
  readonly twistRad: readonly number[];
  readonly rockRad: readonly number[];
  /** Greatest difference between any two photographs. */
  readonly greatestPlayMm: number;
  readonly greatestTwistRad: number;
  readonly greatestRockRad: number;
}

export interface SceneSet {
  readonly scenes: readonly Scene[];
  readonly truth: SceneSetTruth;
}

interface State {
  readonly turnRad: number;
  readonly playMm: readonly [number, number];
  readonly twistRad: number;
  readonly rockRad: number;
  readonly rockDirectionRad: number;
  /** Of a wheel fixed askew on its arbor; where its rim stands lowest goes round with the turn. */
  readonly askewRad?: number;
  readonly lowAtRad?: number;
  /** Wheel and arbor together, from where they stood at first. */
  readonly movedMm?: readonly [number, number];
}

const deg = Math.PI / 180;

/** Photographs of one wheel on its arbor, taken by one hand-held camera, with the set's card beside it. */
export function sceneSetOfKind(kind: SceneSetKind, seed: number, size: PictureSize = "3mp"): SceneSet {
  const rng = random(seed, `set/${kind}`);
  const label = rng.pick(["T2", "T3", "S2", "S3"]);
  const eccentric = eccentricityOf(kind, rng);
  const plain = randomWheel(rng, {
    label,
    toothCount: rng.whole(54, 84),
    moduleMm: rng.uniform(0.5, 0.75),
    eccentricMm: eccentric,
  });
  // A wide collet hides the bore and all round it.
  const colletRadii = kind === "turn-hidden-bore" ? 2.2 : 1.6;
  const wheel: WheelPart = { ...plain, collet: { radiusMm: colletRadii * plain.boreRadiusMm, upMm: 1.2 } };
  // A wheel that lies on the sheet can neither rock nor stand askew.
  const raised = /^(height|play-rock|turn-raised|turn-askew)/.test(kind) ? rng.uniform(3, 14) : 0;
  const faceHeightMm = wheel.thicknessMm + raised;
  // A close photograph takes in one corner of the sheet with its markers.
  const close = kind.endsWith("-close") || kind.endsWith("-side");
  const [middleX, middleY] = close ? [-38, 62] : [0, 0];
  const axisMm = [middleX + rng.normal(0.4), middleY + rng.normal(0.4)] as const;
  const arbor = randomArbor(rng, wheel.boreRadiusMm, { upMm: rng.uniform(6, 10) });
  const pinionPhase = rng.uniform(0, 6);
  const pinion = { leaves: rng.pick([7, 8, 10]), moduleMm: 0.6 * arbor.radiusMm, fromMm: 3, lengthMm: 2.5 };
  const states = statesOf(kind, rng);
  const setKind = kind.startsWith("turn") ? "turn" : kind.startsWith("play") ? "play" : "height";

  const placed = (s: State): WheelPart => {
    const turn = s.turnRad + s.twistRad;
    const tiltRad = s.askewRad ?? s.rockRad;
    const tiltDirectionRad = s.askewRad === undefined ? s.rockDirectionRad : s.turnRad + (s.lowAtRad ?? 0);
    const turned = (x: number, y: number, angle: number): [number, number] => [
      x * Math.cos(angle) - y * Math.sin(angle),
      x * Math.sin(angle) + y * Math.cos(angle),
    ];
    // Bore over the arbor, moved by the play; the tooth circle stands off the bore by its eccentricity.
    const [ex, ey] = turned(-wheel.boreAtMm[0], -wheel.boreAtMm[1], turn);
    return {
      ...wheel,
      faceHeightMm,
      atMm: [
        axisMm[0] + (s.movedMm?.[0] ?? 0) + s.playMm[0] + ex,
        axisMm[1] + (s.movedMm?.[1] ?? 0) + s.playMm[1] + ey,
      ],
      turnRad: turn,
      tiltRad,
      tiltDirectionRad,
      // The arbor keeps upright and in its place while the wheel moves.
      arbor: {
        ...arbor,
        offsetMm: turned(-s.playMm[0], -s.playMm[1], -turn),
        leanRad: -tiltRad,
        leanDirectionRad: tiltDirectionRad - turn,
      },
      pinion: { ...pinion, phaseRad: pinionPhase + s.turnRad - turn },
    };
  };
  const below = middleY - wheelOutline(wheel.outline).tipDiameterMm / 2 - 12;
  const cards: ScenePart[] = [card(rng, label, middleX - 20, below)];
  if (setKind !== "height") cards.push(card(rng, setKind.toUpperCase(), middleX + 20, below));

  // One phone in one evening: the first photograph fixes camera, sheet, light and exposure.
  const first = sceneOver(rng, kind, [], { size });
  let stand: Scene["pose"] | undefined;
  const scenes = states.map((state, i): Scene => {
    const parts = [placed(state), ...cards];
    const lateral: Partial<SceneWishes> =
      kind === "height" || kind === "turn-camera-moved"
        ? {
            tiltRad: rng.uniform(10, 20) * deg,
            azimuthRad: (2 * Math.PI * i) / states.length + rng.normal(0.2),
          }
        : close
          ? {
              longSideMm: 180,
              targetMm: [-38 + rng.normal(3), 66 + rng.normal(3)] as const,
              // From the side a rock shows best.
              ...(kind.endsWith("-side")
                ? { tiltRad: 22 * deg + rng.normal(0.03), azimuthRad: -1.6 + rng.normal(0.1) }
                : {}),
            }
          : {};
    const again = sceneOver(rng, kind, parts, { size, ground: first.ground, ...lateral });
    const { light, sensor, optics, given } = first;
    stand ??= close ? rescaled(again, first) : first.pose;
    const pose = onStand(kind) ? stand : rescaled(again, first);
    return { ...again, camera: first.camera, light, sensor, optics, given, pose };
  });
  const play = states.map((s) => s.playMm);
  return {
    scenes,
    truth: {
      kind: setKind,
      label,
      faceHeightMm,
      axisMm,
      eccentricityMm: eccentric,
      axialRunoutMm: wheelOutline(wheel.outline).tipDiameterMm * Math.sin(states[0]!.askewRad ?? 0),
      movedMm: states.map((s) => s.movedMm ?? [0, 0]),
      turnsRad: states.map((s) => s.turnRad),
      playMm: play,
      twistRad: states.map((s) => s.twistRad),
      rockRad: states.map((s) => s.rockRad),
      greatestPlayMm: Math.max(...play.flatMap((a) => play.map((b) => Math.hypot(a[0] - b[0], a[1] - b[1])))),
      greatestTwistRad: range(states.map((s) => s.twistRad)),
      greatestRockRad: greatestRock(states),
    },
  };
}

/** The camera stays where it is between the photographs of these sets. */
const onStand = (kind: SceneSetKind): boolean =>
  kind === "play-tight-stand" || /^play-(radial|twist|rock)-\d/.test(kind);

/** The size that a kind has in its name, mm or degrees. */
const sizeIn = (kind: SceneSetKind): number | undefined => {
  const size = /\d[\d.]*/.exec(kind)?.[0];
  return size === undefined ? undefined : Number(size);
};

function eccentricityOf(kind: SceneSetKind, rng: Random): number {
  if (kind === "turn-true") return 0;
  if (kind === "turn-eccentric-0.10") return 0.1;
  return kind.startsWith("turn") ? rng.uniform(0.04, 0.3) : rng.uniform(0, 0.05);
}

/** `again` was framed for its own lens; with the first one's, the distance must follow. */
function rescaled(again: Scene, first: Scene): Scene["pose"] {
  const ratio = first.camera.fxPx / again.camera.fxPx;
  const [x, y, z] = again.pose.translationMm;
  return { rotation: again.pose.rotation, translationMm: [x!, y!, z! * ratio] };
}

function statesOf(kind: SceneSetKind, rng: Random): State[] {
  const still: State = { turnRad: 0, playMm: [0, 0], twistRad: 0, rockRad: 0, rockDirectionRad: 0 };
  const start = rng.uniform(0, 2 * Math.PI);
  const away = rng.uniform(0, 2 * Math.PI);
  switch (kind) {
    case "turn-true":
    case "turn-eccentric":
    case "turn-eccentric-0.10":
    case "turn-camera-moved":
    case "turn-hidden-bore":
    case "turn-raised":
    case "turn-askew":
    case "turn-askew-close": {
      const n = rng.whole(3, 5);
      const askewRad = kind.startsWith("turn-askew") ? rng.uniform(0.4, 1.6) * deg : undefined;
      return Array.from({ length: n }, (_, i) => ({
        ...still,
        turnRad: start + (2 * Math.PI * i) / n + rng.normal(0.15),
        ...(askewRad === undefined ? {} : { askewRad, lowAtRad: away }),
      }));
    }
    case "play-moved-about":
      return [0, 1, 2, 3].map((i) => ({
        ...still,
        turnRad: start + (i === 0 ? 0 : rng.uniform(-1, 1)),
        movedMm: i === 0 ? [0, 0] : ([rng.normal(4), rng.normal(4)] as const),
      }));
    case "play-tight":
    case "play-tight-stand":
    case "play-tight-close":
      // Pushing turns wheel and arbor together a little.
      return [0, 1, 2, 3].map(() => ({ ...still, turnRad: start + rng.normal(0.01) }));
    case "play-radial":
    case "play-radial-0.08":
    case "play-radial-0.05-close": {
      const half = (sizeIn(kind) ?? rng.uniform(0.06, 0.3)) / 2;
      return [0, 1, 2, 3].map((i) => {
        const angle = away + (i * Math.PI) / 2;
        return { ...still, turnRad: start, playMm: [half * Math.cos(angle), half * Math.sin(angle)] };
      });
    }
    case "play-twist":
    case "play-twist-1":
    case "play-twist-0.3-close": {
      const half = ((sizeIn(kind) ?? rng.uniform(0.35, 3)) * deg) / 2;
      return [-half, half, -half, half].map((twistRad) => ({ ...still, turnRad: start, twistRad }));
    }
    case "play-rock":
    case "play-rock-1.5":
    case "play-rock-1.5-side": {
      const half = ((sizeIn(kind) ?? rng.uniform(0.6, 2.5)) * deg) / 2;
      return [0, 1, 2, 3].map((i) => ({
        ...still,
        turnRad: start,
        rockRad: half,
        rockDirectionRad: away + (i * Math.PI) / 2,
      }));
    }
    case "height":
      return [
        { ...still, turnRad: start },
        { ...still, turnRad: start },
      ];
  }
}

function card(rng: Random, label: string, x: number, y: number): ScenePart {
  return {
    type: "tag",
    tagLabel: label,
    label,
    atMm: [x + rng.normal(1), y + rng.normal(1)],
    faceHeightMm: 0.2,
    thicknessMm: 0.2,
    turnRad: rng.normal(0.08),
    tiltRad: 0,
    tiltDirectionRad: 0,
  };
}

const range = (values: readonly number[]): number => Math.max(...values) - Math.min(...values);

/** Greatest angle between two positions of the wheel's axis. */
function greatestRock(states: readonly State[]): number {
  const axes = states.map((s) => [
    Math.sin(s.rockRad) * Math.cos(s.rockDirectionRad),
    Math.sin(s.rockRad) * Math.sin(s.rockDirectionRad),
    Math.cos(s.rockRad),
  ]);
  let greatest = 0;
  for (const a of axes)
    for (const b of axes) {
      const apart = Math.hypot(a[0]! - b[0]!, a[1]! - b[1]!, a[2]! - b[2]!);
      greatest = Math.max(greatest, 2 * Math.asin(apart / 2));
    }
  return greatest;
}
