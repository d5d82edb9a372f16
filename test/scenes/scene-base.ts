import { describeSheet } from "../../src/mat/index.js";
import type { Paper } from "../../src/mat/index.js";
import type { Random } from "./random.js";
import { poseLookingAt } from "./scene-camera.js";
import type { Ground, Light, Optics, Scene, ScenePart, SceneCamera, Sensor } from "./scene.js";

/** Long side by short side. */
export const pictureSizes = {
  "0.3mp": [640, 480],
  "1mp": [1200, 900],
  "2mp": [1632, 1224],
  "3mp": [2048, 1536],
  "5mp": [2592, 1944],
  "12mp": [4032, 3024],
} as const;
export type PictureSize = keyof typeof pictureSizes;

export interface SceneWishes {
  /** By name, or long and short side in px. */
  readonly size: PictureSize | readonly [number, number];
  readonly portrait?: boolean;
  readonly ground?: Ground;
  /** What the long side of the picture should take in, mm at the sheet; default: the whole sheet with some table. */
  readonly longSideMm?: number;
  readonly targetMm?: readonly [number, number];
  readonly tiltRad?: number;
  readonly azimuthRad?: number;
  readonly rollRad?: number;
  /** Focal length as on a 36 x 24 mm frame. */
  readonly focal35Mm?: number;
  readonly camera?: Partial<SceneCamera>;
  readonly light?: Partial<Light>;
  readonly optics?: Partial<Optics>;
  readonly sensor?: Partial<Sensor>;
}

export function matGround(paper: Paper = "a4", across = 1, along = 1): Extract<Ground, { kind: "mat" }> {
  return { kind: "mat", paper, printScaleAcross: across, printScaleAlong: along, bowMm: 0, under: "wood" };
}

/** A plain phone photograph over the mat; every value that is not wished for is drawn at random. */
export function sceneOver(
  rng: Random,
  kind: string,
  parts: readonly ScenePart[],
  wishes: SceneWishes,
): Scene {
  const portrait = wishes.portrait ?? true;
  const [long, short] = typeof wishes.size === "string" ? pictureSizes[wishes.size] : wishes.size;
  const widthPx = portrait ? short : long;
  const heightPx = portrait ? long : short;
  const ground = wishes.ground ?? {
    ...matGround("a4", 1 + rng.normal(0.004), 1 + rng.normal(0.004)),
    under: rng.pick(["wood", "cloth", "dark-board"] as const),
  };
  const sheetLong = ground.kind === "mat" ? describeSheet(ground.paper).heightMm : 240;
  const longSideMm = wishes.longSideMm ?? sheetLong * rng.uniform(1.03, 1.1);
  const f = ((wishes.focal35Mm ?? rng.uniform(25, 45)) / 36) * long;
  const tiltRad = wishes.tiltRad ?? rng.uniform(0, 0.1);
  const camera: SceneCamera = {
    fxPx: f,
    fyPx: f * (1 + rng.normal(0.0005)),
    cxPx: (widthPx - 1) / 2 + rng.normal(0.004 * long),
    cyPx: (heightPx - 1) / 2 + rng.normal(0.004 * long),
    k1: rng.normal(0.05),
    k2: rng.normal(0.03),
    p1: 0,
    p2: 0,
    ...wishes.camera,
  };
  const pose = poseLookingAt({
    targetMm: wishes.targetMm ?? [rng.normal(3), rng.normal(3)],
    // A tilted sheet needs more room.
    distanceMm: ((f * longSideMm) / long) * (1 + 0.5 * Math.sin(tiltRad)),
    tiltRad,
    azimuthRad: wishes.azimuthRad ?? rng.uniform(0, 2 * Math.PI),
    rollRad: (wishes.rollRad ?? rng.normal(0.05)) + (portrait ? 0 : Math.PI / 2),
  });
  const side = rng.uniform(0, 2 * Math.PI);
  const reach = rng.uniform(250, 600);
  return {
    kind,
    widthPx,
    heightPx,
    camera,
    pose,
    ground,
    parts,
    light: {
      atMm: [reach * Math.cos(side), reach * Math.sin(side), rng.uniform(500, 1100)],
      radiusMm: rng.uniform(60, 250),
      ambient: rng.uniform(0.35, 0.6),
      gradient: [rng.normal(0.04), rng.normal(0.04)],
      whiteBalance: [1 + rng.normal(0.04), 1, 1 + rng.normal(0.05)],
      glare: rng.uniform(0.5, 2),
      ...wishes.light,
    },
    optics: {
      blurSigmaPx: rng.uniform(0.5, 0.9),
      motionPx: [0, 0],
      vignette: rng.uniform(0, 0.15),
      ...wishes.optics,
    },
    sensor: {
      exposure: rng.uniform(0.8, 1),
      shotNoise: 1.5e-5,
      readNoise: 0.0012,
      sharpen: rng.chance(0.6) ? rng.uniform(0.1, 0.4) : 0,
      jpegQuality: rng.whole(85, 95),
      ...wishes.sensor,
    },
    given: givenFor(ground, rng),
  };
}

/** What the user reads off the check bars with calipers (0.03 mm) on the printed sheet. */
function givenFor(ground: Ground, rng: Random): Scene["given"] {
  if (ground.kind !== "mat") return {};
  const [across, along] = describeSheet(ground.paper).bars;
  if (!across || !along) return {};
  return {
    barAcrossMm: Number((across.lengthMm * ground.printScaleAcross + rng.normal(0.02)).toFixed(2)),
    barAlongMm: Number((along.lengthMm * ground.printScaleAlong + rng.normal(0.02)).toFixed(2)),
  };
}

/** Photographs for closed-form checks: nothing but geometry. */
export const plainOptics: Optics = { blurSigmaPx: 0, motionPx: [0, 0], vignette: 0 };
export const plainSensor: Sensor = { exposure: 1, shotNoise: 0, readNoise: 0, sharpen: 0, jpegQuality: 0 };
