import { describeSheet } from "../../src/mat/index.js";
import { clutter } from "./random-clutter.js";
import { randomArbor, randomWheel } from "./random-parts.js";
import type { WheelWishes } from "./random-parts.js";
import { spread, tagBeside, tipRadiusMm, tray } from "./random-tray.js";
import { random } from "./random.js";
import type { Random } from "./random.js";
import { matGround, sceneOver } from "./scene-base.js";
import type { SceneWishes } from "./scene-base.js";
import { cameraPosition } from "./scene-camera.js";
import { sheetHeightMm } from "./sheet-height.js";
import type { Ground, OtherPart, Scene, ScenePart, WheelPart } from "./scene.js";

/**
 * Photographs over the full range of what can go wrong, far beyond what anyone should hand in. Each kind drives one
 * trouble through its whole range; wheel, size of the picture and everything else are drawn at random, too.
 */
interface Draft {
  readonly parts: readonly ScenePart[];
  readonly wishes?: Partial<SceneWishes>;
  readonly after?: (scene: Scene) => Scene;
}
type Maker = (rng: Random) => Draft;

const deg = Math.PI / 180;
const logUniform = (rng: Random, from: number, to: number): number =>
  from * Math.exp(rng.next() * Math.log(to / from));

/** Long and short side, px: phones, scans and thumbnails. */
const picture = (long: number): readonly [number, number] => [Math.round(long), Math.round(0.75 * long)];
const usualPicture = (rng: Random): readonly [number, number] => picture(logUniform(rng, 1000, 3200));

/** Any wheel of 12 to 144 teeth that finds room on the sheet. */
function anyWheel(rng: Random, wishes: WheelWishes = {}): WheelPart {
  const toothCount = wishes.toothCount ?? Math.round(logUniform(rng, 12, 144));
  const largest = Math.min(1.6, 108 / toothCount);
  const moduleMm =
    wishes.moduleMm ?? logUniform(rng, Math.min(0.9 * largest, Math.max(0.3, 8 / toothCount)), largest);
  const form = wishes.form ?? rng.pick(["cycloidal", "cycloidal", "cycloidal", "involute-like"] as const);
  return randomWheel(rng, {
    label: "T1",
    atMm: [rng.normal(6), rng.normal(9)],
    ...wishes,
    toothCount,
    moduleMm,
    form,
  });
}

const run = (rng: Random, toothCount: number, length: number): number[] => {
  const first = rng.whole(0, toothCount - 1);
  return Array.from({ length }, (_, i) => (first + i) % toothCount);
};

const lamp = (rng: Random, farMm: number, upMm: number): readonly [number, number, number] => {
  const side = rng.uniform(0, 2 * Math.PI);
  return [farMm * Math.cos(side), farMm * Math.sin(side), upMm];
};

/** Flash beside the lens. */
const withFlash = (scene: Scene): Scene => {
  const [x, y, z] = cameraPosition(scene.pose);
  return {
    ...scene,
    light: { ...scene.light, atMm: [x + 12, y + 5, z], radiusMm: 4, ambient: 0.2, glare: 20 },
  };
};

/** A board between lamp and wheel, out of the picture: its shadow ends somewhere on the wheel. */
function inHalfShadow(rng: Random, wheel: WheelPart): Draft {
  const way = rng.pick([1, -1]);
  const [x, y] = wheel.atMm;
  const radius = tipRadiusMm(wheel);
  // The lamp stands at 45 degrees along x: what is 200 mm up throws its shadow 200 mm away from the lamp.
  const up = 200;
  const size = 160;
  const edge = x + way * (up + rng.uniform(-0.6, 0.6) * radius);
  const board: OtherPart = {
    type: "card",
    label: "",
    atMm: [edge + (way * size) / 2, y + rng.uniform(-20, 20)],
    faceHeightMm: up,
    thicknessMm: 1,
    turnRad: 0,
    tiltRad: 0,
    tiltDirectionRad: 0,
    sizeMm: size,
    look: { metal: "nickel", finish: "matt", mottling: 0, scratches: 0, engraving: 0 },
  };
  const far = rng.uniform(900, 1400);
  return {
    parts: [wheel, board],
    wishes: {
      light: {
        atMm: [x + way * far, y, far],
        radiusMm: logUniform(rng, 8, 80),
        ambient: rng.uniform(0.15, 0.4),
      },
      longSideMm: 310,
      tiltRad: rng.uniform(0, 0.05),
    },
  };
}

const makers = {
  /** 400 to 8000 px wide, 3 to 60 px from tooth to tooth, 12 to 144 teeth. */
  resolution: (rng) => {
    for (;;) {
      const wheel = anyWheel(rng);
      const pitchMm = Math.PI * wheel.outline.moduleMm;
      const longSideMm = rng.uniform(300, 340);
      const long = (longSideMm * logUniform(rng, 3, 60)) / pitchMm;
      if (long < 400 || long > 8000) continue;
      // Few of the largest: they take as long as all others together.
      if (long > 4000 && rng.chance(0.75)) continue;
      return { parts: [wheel], wishes: { size: picture(long), longSideMm } };
    }
  },
  tilt: (rng) => ({ parts: [anyWheel(rng)], wishes: { tiltRad: rng.uniform(0, 35) * deg } }),
  soft: (rng) => {
    const way = rng.uniform(0, 2 * Math.PI);
    const shake = rng.chance(0.6) ? rng.uniform(0, 8) : 0;
    const blurSigmaPx = shake > 0 && rng.chance(0.5) ? rng.uniform(0.5, 1) : rng.uniform(0.8, 3.5);
    return {
      parts: [anyWheel(rng)],
      wishes: { optics: { blurSigmaPx, motionPx: [shake * Math.cos(way), shake * Math.sin(way)] } },
    };
  },
  light: (rng) => ({
    parts: [anyWheel(rng)],
    wishes: {
      sensor: {
        exposure: logUniform(rng, 0.12, 1.8),
        shotNoise: logUniform(rng, 1e-5, 3e-4),
        readNoise: logUniform(rng, 0.001, 0.012),
      },
      light: {
        gradient: [rng.normal(0.15), rng.normal(0.15)],
        whiteBalance: [rng.uniform(0.7, 1.3), 1, rng.uniform(0.6, 1.3)],
      },
      optics: { vignette: rng.uniform(0, 0.4) },
    },
  }),
  jpeg: (rng) => ({
    parts: [anyWheel(rng)],
    wishes: {
      sensor: { jpegQuality: rng.whole(40, 95), sharpen: rng.chance(0.5) ? rng.uniform(0, 0.8) : 0 },
    },
  }),
  sheet: (rng) => {
    const ground: Extract<Ground, { kind: "mat" }> = {
      ...matGround(
        rng.pick(["a4", "a4", "letter"] as const),
        rng.uniform(0.97, 1.03),
        rng.uniform(0.97, 1.03),
      ),
      bowMm: rng.chance(0.4) ? rng.uniform(0.3, 3) : 0,
      ...(rng.chance(0.3) ? { crease: { heightMm: rng.uniform(0.5, 4), atMm: rng.uniform(-90, 90) } } : {}),
      under: rng.pick(["wood", "cloth", "dark-board"] as const),
    };
    const covers = rng.chance(0.5)
      ? [...clutter.hand(rng), clutter.card(rng, [rng.uniform(-70, 70), 136])]
      : [];
    const wheel = anyWheel(rng, { moduleMm: 0.55, toothCount: Math.round(logUniform(rng, 20, 110)) });
    // It lies on the paper, wherever that is.
    const { widthMm, heightMm } = describeSheet(ground.paper);
    const paperMm = sheetHeightMm(ground, widthMm / 2, heightMm / 2, ...wheel.atMm);
    const lying = { ...wheel, faceHeightMm: wheel.faceHeightMm + paperMm };
    return { parts: [lying, ...covers], wishes: { ground } };
  },
  damage: (rng) => {
    const toothCount = Math.round(logUniform(rng, 20, 144));
    const gone = rng.chance(0.7) ? run(rng, toothCount, rng.whole(1, Math.ceil(0.15 * toothCount))) : [];
    const free = run(rng, toothCount, toothCount).filter((i) => !gone.includes(i));
    const outline = {
      missing: gone,
      ...(rng.chance(0.5)
        ? {
            broken: free
              .slice(0, rng.whole(1, 3))
              .map((index) => ({ index, fraction: rng.uniform(0.2, 0.7) })),
          }
        : {}),
      ...(rng.chance(0.5)
        ? { bent: free.slice(5, 5 + rng.whole(1, 3)).map((index) => ({ index, offsetMm: rng.normal(0.25) })) }
        : {}),
      ...(rng.chance(0.5) ? { wornMm: rng.uniform(0.05, 0.25) } : {}),
    };
    return { parts: [anyWheel(rng, { toothCount, outline, eccentricMm: Math.abs(rng.normal(0.15)) })] };
  },
  "half-shadow": (rng) => inHalfShadow(rng, anyWheel(rng)),
  "hard-light": (rng) => ({
    parts: [anyWheel(rng, rng.chance(0.4) ? { withArbor: true } : {})],
    ...(rng.chance(0.35)
      ? { after: withFlash }
      : {
          wishes: {
            light: {
              atMm: lamp(rng, rng.uniform(150, 500), rng.uniform(250, 500)),
              radiusMm: logUniform(rng, 4, 60),
              ambient: rng.uniform(0.08, 0.3),
            },
          },
        }),
  }),
  metal: (rng) => ({
    parts: [
      anyWheel(rng, {
        look: {
          metal: rng.pick([
            "steel",
            "patinated-brass",
            "nickel",
            "copper",
            "blued-steel",
            "patinated-brass",
          ] as const),
          finish: rng.pick(["turned", "brushed", "polished", "matt"] as const),
          mottling: rng.uniform(0, 0.8),
          scratches: rng.uniform(0, 1),
          engraving: rng.chance(0.4) ? rng.uniform(0.3, 1) : 0,
        },
      }),
    ],
  }),
  "cut-off": (rng) => {
    const wheel = anyWheel(rng, { atMm: [0, 0], toothCount: Math.round(logUniform(rng, 30, 120)) });
    const radius = tipRadiusMm(wheel);
    const overlap = rng.uniform(0, 1.2) * radius;
    return {
      parts: [wheel],
      wishes: { targetMm: [0, rng.pick([1, -1]) * (95 + overlap - radius)], longSideMm: 190 },
    };
  },
  overlapped: (rng) => {
    const lower = anyWheel(rng, { toothCount: Math.round(logUniform(rng, 40, 110)), moduleMm: 0.6 });
    const upper = randomWheel(rng, {
      label: "T2",
      toothCount: Math.round(logUniform(rng, 24, 70)),
      moduleMm: 0.5,
    });
    const [a, b] = [tipRadiusMm(lower), tipRadiusMm(upper)];
    const way = rng.uniform(0, 2 * Math.PI);
    const apart = (a + b) * rng.uniform(0.75, 1.02);
    const faceHeightMm = lower.faceHeightMm + upper.thicknessMm + 0.05;
    const atMm = [lower.atMm[0] + apart * Math.cos(way), lower.atMm[1] + apart * Math.sin(way)] as const;
    return { parts: [lower, { ...upper, atMm, ...(apart < a + b ? { faceHeightMm } : {}) }] };
  },
  tray: (rng) => {
    const wheels = tray(rng, rng.whole(4, 7));
    const tags =
      rng.chance(0.5) && wheels.length < 6
        ? wheels.filter((w) => tipRadiusMm(w) < 26).map((w) => tagBeside(rng, w))
        : [];
    return { parts: [...wheels, ...tags], wishes: { tiltRad: rng.uniform(0, 0.2) } };
  },
  "off-mat": (rng) => {
    const surface = rng.pick(["white-paper", "cloth", "wood", "dark-board", "light-table"] as const);
    const metal =
      surface === "light-table" ? "steel" : rng.pick(["brass", "brass", "patinated-brass"] as const);
    const wheel = anyWheel(rng, { atMm: [0, 0], look: { metal } });
    return {
      parts: [wheel],
      wishes: {
        ground: { kind: "surface", surface },
        longSideMm: tipRadiusMm(wheel) * rng.uniform(2.6, 6) + 10,
      },
    };
  },
  nothing: (rng) => {
    const things = rng.chance(0.8) ? clutter.things(rng, rng.whole(2, 9)) : [];
    const surface = rng.pick(["white-paper", "cloth", "wood", "dark-board"] as const);
    return {
      parts: things,
      wishes: rng.chance(0.6) ? {} : { ground: { kind: "surface", surface }, longSideMm: 190 },
    };
  },
  /** A bit of everything at once. */
  mixed: (rng) => {
    const wheel = anyWheel(rng, {
      look: {
        metal: rng.pick(["brass", "brass", "patinated-brass", "steel"] as const),
        mottling: rng.uniform(0, 0.5),
        scratches: rng.uniform(0, 0.5),
      },
      ...(rng.chance(0.3)
        ? {
            form: rng.pick(["ratchet", "escape-recoil", "escape-deadbeat"] as const),
            toothCount: rng.whole(20, 60),
            moduleMm: rng.uniform(0.6, 1),
          }
        : {}),
    });
    const arbor = randomArbor(rng, wheel.boreRadiusMm);
    const standing = rng.chance(0.4)
      ? { ...wheel, arbor, collet: { radiusMm: 1.6 * wheel.boreRadiusMm, upMm: 1.5 } }
      : wheel;
    const others = spread(
      rng,
      [0, 1].map(() => randomWheel(rng, { label: "", toothCount: rng.whole(30, 60), moduleMm: 0.5 })),
      70,
      120,
    ).filter(
      ({ atMm, ...other }) =>
        Math.hypot(atMm[0] - wheel.atMm[0], atMm[1] - wheel.atMm[1]) >
        tipRadiusMm(wheel) + tipRadiusMm({ atMm, ...other }) + 3,
    );
    return {
      parts: [standing, ...others],
      wishes: {
        tiltRad: rng.uniform(0, 22) * deg,
        light: {
          atMm: lamp(rng, rng.uniform(200, 600), rng.uniform(350, 900)),
          radiusMm: logUniform(rng, 10, 200),
          ambient: rng.uniform(0.2, 0.5),
          whiteBalance: [rng.uniform(0.85, 1.15), 1, rng.uniform(0.8, 1.2)],
        },
        optics: { blurSigmaPx: rng.uniform(0.5, 1.8) },
        sensor: {
          exposure: logUniform(rng, 0.3, 1.4),
          shotNoise: logUniform(rng, 1e-5, 1e-4),
          jpegQuality: rng.whole(50, 95),
        },
      },
    };
  },
} satisfies Record<string, Maker>;

export type StressKind = keyof typeof makers;
export const stressKinds = Object.keys(makers) as readonly StressKind[];

/** The same kind and seed give the same scene. */
export function stressScene(kind: StressKind, seed: number): Scene {
  const rng = random(seed, `stress/${kind}`);
  const maker: Maker = makers[kind];
  const draft = maker(rng.stream("parts"));
  const photograph = rng.stream("photograph");
  const size = draft.wishes?.size ?? usualPicture(photograph);
  const scene = sceneOver(photograph, kind, draft.parts, {
    portrait: photograph.chance(0.7),
    ...draft.wishes,
    size,
  });
  return draft.after ? draft.after(scene) : scene;
}
