import { describeSheet } from "../../src/mat/index.js";
import { clutter, randomPlate } from "./random-clutter.js";
import { heaps } from "./random-heaps.js";
import {
  pinionsLying,
  pinionsOfAnyForm,
  pinionsOnEnd,
  randomArbor,
  randomPinion,
  randomWheel,
  wheelUnderPinion,
} from "./random-parts.js";
import type { WheelWishes } from "./random-parts.js";
import { plateOfPair } from "./random-plates.js";
import { spread, tagBeside, tipRadiusMm, tray } from "./random-tray.js";
import { random } from "./random.js";
import type { Random } from "./random.js";
import { matGround, pictureSizes, sceneOver } from "./scene-base.js";
import type { PictureSize, SceneWishes } from "./scene-base.js";
import { cameraPosition } from "./scene-camera.js";
import type { Ground, Scene, ScenePart, WheelPart } from "./scene.js";
import { wheelOutline } from "./wheel-outline.js";

type Wishes = Omit<SceneWishes, "size">;
interface Draft {
  readonly parts: readonly ScenePart[];
  readonly wishes?: Wishes;
  /** Anything that depends on the finished scene. */
  readonly after?: (scene: Scene) => Scene;
}
/** `shared` is the same for one seed of every kind. */
type Maker = (rng: Random, size: PictureSize, shared: Random) => Draft;

const deg = Math.PI / 180;

/** Somewhere near the middle of the working field. */
const somewhere = (rng: Random, reach = 20): [number, number] => [
  rng.uniform(-reach, reach),
  rng.uniform(-reach, reach),
];

/** A photograph of one corner of the sheet, with markers along two sides. */
const closeUp = (rng: Random): Wishes => ({
  longSideMm: rng.uniform(185, 215),
  targetMm: [44 + rng.normal(2), 66 + rng.normal(2)],
});
const nearCorner = (rng: Random): [number, number] => [rng.uniform(28, 42), rng.uniform(40, 75)];

/** Light from a lamp, a leaning camera further away, a soft and grainy picture. */
function rough(rng: Random): Wishes {
  const side = rng.uniform(0, 2 * Math.PI);
  const reach = rng.uniform(150, 500);
  return {
    longSideMm: rng.uniform(190, 310),
    targetMm: [rng.uniform(10, 45), rng.uniform(20, 66)],
    tiltRad: rng.uniform(0, 20) * deg,
    light: {
      atMm: [reach * Math.cos(side), reach * Math.sin(side), rng.uniform(350, 900)],
      radiusMm: rng.pick([8, 30, 80, 150]),
      ambient: rng.uniform(0.2, 0.5),
    },
    optics: { blurSigmaPx: rng.uniform(0.5, 1.6) },
    sensor: { shotNoise: rng.uniform(1e-5, 8e-5), readNoise: rng.uniform(0.001, 0.004) },
  };
}

const one = (rng: Random, wishes: WheelWishes = {}): WheelPart =>
  randomWheel(rng, { label: "T1", atMm: somewhere(rng), ...wishes });

const single =
  (wheel: (rng: Random) => WheelWishes, wishes: (rng: Random) => Wishes = () => ({})): Maker =>
  (rng) => ({ parts: [one(rng, wheel(rng))], wishes: wishes(rng) });

const photographed = (wishes: (rng: Random) => Wishes): Maker => single(() => ({}), wishes);

const some = (rng: Random, toothCount: number, howMany: number): number[] => {
  const chosen = new Set<number>();
  while (chosen.size < howMany) chosen.add(rng.whole(0, toothCount - 1));
  return [...chosen];
};

const surface = (name: Extract<Ground, { kind: "surface" }>["surface"]): Ground => ({
  kind: "surface",
  surface: name,
});

const offMat =
  (name: Extract<Ground, { kind: "surface" }>["surface"]): Maker =>
  (rng) => ({
    parts: [one(rng, { atMm: [0, 0], ...(name === "light-table" ? { look: { metal: "steel" } } : {}) })],
    wishes: { ground: surface(name), longSideMm: rng.uniform(90, 140) },
  });

type EscapeForm = "escape-recoil" | "escape-deadbeat";
const escapeWheel = (
  rng: Random,
  form: EscapeForm,
  toothCount: number,
  outline: WheelWishes["outline"] = {},
): WheelPart =>
  one(rng, {
    form,
    toothCount,
    moduleMm: rng.uniform(0.75, 1.1),
    crossings: rng.pick([3, 4, 5, 6]),
    outline: { rake: rng.chance(0.5) ? 1 : -1, ...outline },
  });

const escape =
  (form: EscapeForm): Maker =>
  (rng) => ({ parts: [escapeWheel(rng, form, rng.pick([20, 24, 30, 30, 32, 36, 40]))] });

/** An escape wheel as clocks have them, with one tooth that is not as the others are. */
const escapeDamaged =
  (damage: (rng: Random, index: number) => WheelWishes["outline"]): Maker =>
  (rng) => {
    const toothCount = rng.whole(30, 42);
    const form = rng.pick(["escape-recoil", "escape-deadbeat"] as const);
    return { parts: [escapeWheel(rng, form, toothCount, damage(rng, rng.whole(0, toothCount - 1)))] };
  };

const makers = {
  single: single(() => ({})),
  tray: (rng) => ({ parts: tray(rng, rng.whole(6, 8)) }),
  tagged: (rng) => {
    const wheels = tray(rng, 3).filter((w) => tipRadiusMm(w) < 32);
    const tags = wheels.map((w): ScenePart => tagBeside(rng, w));
    return { parts: [...wheels, ...tags] };
  },
  "large-count": single((rng) => ({
    toothCount: rng.whole(120, 180),
    moduleMm: rng.uniform(0.45, 0.6),
    atMm: somewhere(rng, 8),
  })),
  "small-teeth": (rng, size) => {
    // 4 to 8 px from tooth to tooth.
    const pxPerMm = pictureSizes[size][0] / 310;
    const moduleMm = rng.uniform(4.2, 8) / Math.PI / pxPerMm;
    return { parts: [one(rng, { toothCount: rng.whole(50, 120), moduleMm })], wishes: { longSideMm: 310 } };
  },
  "five-crossings": single(() => ({ crossings: 5 })),
  "four-crossings": single(() => ({ crossings: 4 })),
  "six-crossings": single(() => ({ crossings: 6 })),
  "no-crossings": single(() => ({ crossings: 0 })),
  "involute-like": single(() => ({ form: "involute-like" })),
  eccentric: single((rng) => ({ eccentricMm: rng.uniform(0.05, 0.4) })),
  oval: single((rng) => ({
    outline: { ovalMm: rng.uniform(0.1, 0.5), ovalAngleRad: rng.uniform(0, Math.PI) },
  })),
  "three-lobed": single((rng) => ({
    outline: { threeLobeMm: rng.uniform(0.05, 0.3), threeLobeAngleRad: rng.uniform(0, 2) },
  })),
  "missing-teeth": damaged((rng, n) => ({ missing: some(rng, n, rng.whole(1, 3)) })),
  "missing-run": damaged((rng, n) => {
    const first = rng.whole(0, n - 1);
    return { missing: Array.from({ length: rng.whole(2, 4) }, (_, i) => (first + i) % n) };
  }),
  "broken-tooth": damaged((rng, n) => ({
    broken: some(rng, n, rng.whole(1, 2)).map((index) => ({ index, fraction: rng.uniform(0.2, 0.6) })),
  })),
  "bent-tooth": damaged((rng, n) => ({
    bent: some(rng, n, rng.whole(1, 2)).map((index) => ({
      index,
      offsetMm: rng.uniform(0.2, 0.45) * (rng.chance(0.5) ? 1 : -1),
    })),
  })),
  worn: single((rng) => ({ outline: { wornMm: rng.uniform(0.08, 0.2) } })),
  "tall-arbor": withArbor((rng) => ({ upMm: rng.uniform(20, 42) })),
  "leaning-arbor": withArbor((rng) => ({
    upMm: rng.uniform(15, 28),
    leanRad: rng.uniform(3, 6) * deg,
    leanDirectionRad: rng.uniform(0, 6.28),
  })),
  pins: (rng) => ({ parts: [pinWheel(rng, (r) => r.pick([6, 8, 8, 10, 12]))] }),
  "pins-few": (rng) => ({ parts: [pinWheel(rng, (r) => r.pick([2, 3]))] }),
  "bent-pin": (rng) => {
    const wheel = pinWheel(rng, (r) => r.pick([6, 8, 10]));
    const { pins } = wheel;
    const bent = [
      {
        index: rng.whole(0, pins!.count - 1),
        leanRad: rng.uniform(0.14, 0.25),
        directionRad: rng.uniform(0, 6.28),
      },
    ];
    return { parts: [{ ...wheel, pins: { ...pins!, bent } }] };
  },
  "tilt-10": photographed(() => ({ tiltRad: 10 * deg })),
  "tilt-20": photographed(() => ({ tiltRad: 20 * deg })),
  "tilt-30": photographed(() => ({ tiltRad: 30 * deg })),
  "far-from-foot": single(
    (rng) => ({ atMm: [rng.uniform(-35, 35), rng.uniform(60, 75)], moduleMm: 0.6 }),
    () => ({ targetMm: [0, -55], longSideMm: 430, tiltRad: 0.01, focal35Mm: 25 }),
  ),
  "flash-glare": (rng) => ({
    parts: [one(rng, { look: { finish: rng.pick(["polished", "turned"] as const) } })],
    wishes: { light: { radiusMm: 4, ambient: 0.15, glare: 22 } },
    // The flash sits beside the lens.
    after: (scene) => {
      const [x, y, z] = cameraPosition(scene.pose);
      return { ...scene, light: { ...scene.light, atMm: [x + 12, y + 5, z] } };
    },
  }),
  "hard-shadow": photographed((rng) => {
    const side = rng.uniform(0, 6.28);
    const atMm = [420 * Math.cos(side), 420 * Math.sin(side), 360] as const;
    return { light: { atMm, radiusMm: 6, ambient: 0.12 } };
  }),
  patinated: single((rng) => ({
    look: {
      metal: "patinated-brass",
      finish: "matt",
      mottling: rng.uniform(0.4, 0.7),
      scratches: rng.uniform(0, 0.4),
    },
  })),
  steel: single(() => ({ look: { metal: "steel" } })),
  "covered-mat": (rng) => {
    const wheel = one(rng, { atMm: somewhere(rng, 12) });
    const around = spread(
      rng,
      [0, 1, 2].map(() => randomWheel(rng, { label: "", toothCount: rng.whole(40, 60), moduleMm: 0.5 })),
      100,
      140,
    ).filter(
      (w) =>
        Math.hypot(w.atMm[0] - wheel.atMm[0], w.atMm[1] - wheel.atMm[1]) >
        tipRadiusMm(wheel) + tipRadiusMm(w) + 3,
    );
    return {
      parts: [wheel, ...around, ...clutter.hand(rng), clutter.card(rng, [rng.uniform(-70, 70), 136])],
    };
  },
  blurred: photographed((rng) => ({ optics: { blurSigmaPx: rng.uniform(1.5, 3) } })),
  shaken: photographed((rng) => {
    const [a, n] = [rng.uniform(0, 6.28), rng.uniform(3, 7)];
    return { optics: { motionPx: [n * Math.cos(a), n * Math.sin(a)] } };
  }),
  noisy: photographed(() => ({ sensor: { shotNoise: 2e-4, readNoise: 0.008 } })),
  "low-light": photographed(() => ({ sensor: { exposure: 0.22, shotNoise: 1.2e-4, readNoise: 0.004 } })),
  "over-exposed": photographed((rng) => ({ sensor: { exposure: rng.uniform(1.35, 1.7) } })),
  "jpeg-50": photographed(() => ({ sensor: { jpegQuality: 50 } })),
  "print-scale": photographed((rng) => ({
    ground: matGround("a4", rng.uniform(0.97, 1.03), rng.uniform(0.97, 1.03)),
  })),
  raised: (rng) => {
    const wheel = one(rng, { withArbor: true });
    const faceHeightMm = wheel.thicknessMm + rng.uniform(2, 12);
    return { parts: [{ ...wheel, faceHeightMm }] };
  },
  "tilted-wheel": (rng) => {
    const wheel = one(rng, { withArbor: true });
    const tiltRad = rng.uniform(1, 4) * deg;
    const faceHeightMm = wheel.thicknessMm + tipRadiusMm(wheel) * Math.sin(tiltRad) + 0.2;
    return { parts: [{ ...wheel, faceHeightMm, tiltRad, tiltDirectionRad: rng.uniform(0, 6.28) }] };
  },
  // As a wheel lies that has its arbor: on its rim and the end of the arbor.
  "leaning-wheel": (rng) => {
    const wheel = one(rng, { withArbor: true });
    const tiltRad = rng.uniform(3, 22) * deg;
    const reachMm = tipRadiusMm(wheel);
    const faceHeightMm = wheel.thicknessMm * Math.cos(tiltRad) + reachMm * Math.sin(tiltRad);
    const arbor = randomArbor(rng, wheel.boreRadiusMm, {
      downMm: reachMm * Math.tan(tiltRad),
      upMm: rng.uniform(5, 25),
    });
    return { parts: [{ ...wheel, arbor, faceHeightMm, tiltRad, tiltDirectionRad: rng.uniform(0, 6.28) }] };
  },
  "escape-recoil": escape("escape-recoil"),
  "escape-deadbeat": escape("escape-deadbeat"),
  // Bent by 5 to 20 % of the pitch, forwards or backwards.
  "escape-bent": escapeDamaged((rng, index) => ({
    bent: [{ index, offsetMm: rng.uniform(0.2, 0.55) * (rng.chance(0.5) ? 1 : -1) }],
  })),
  "escape-short": escapeDamaged((rng, index) => ({
    broken: [{ index, fraction: rng.uniform(0.4, 0.85) }],
  })),
  ratchet: single((rng) => ({
    form: "ratchet",
    toothCount: rng.whole(24, 60),
    moduleMm: rng.uniform(0.5, 0.8),
    crossings: 0,
    outline: { rake: rng.chance(0.5) ? 1 : -1 },
  })),
  "pinions-on-end": (rng) => ({ parts: pinionsOnEnd(rng), wishes: closeUp(rng) }),
  "pinions-rough": (rng) => ({ parts: pinionsOfAnyForm(rng), wishes: { ...closeUp(rng), ...rough(rng) } }),
  // On the inside of the near corner: the camera stands above their middle.
  "pinions-lying": (rng) => ({
    parts: pinionsLying(rng, [38, 62]),
    wishes: { ...closeUp(rng), targetMm: [38, 62], tiltRad: rng.uniform(0, 0.06) },
  }),
  "pinion-on-wheel": (rng) => ({
    parts: [wheelUnderPinion(rng, [rng.uniform(20, 45), rng.uniform(35, 75)])],
    wishes: {
      ...closeUp(rng),
      longSideMm: rng.uniform(165, 240),
      targetMm: [rng.uniform(20, 44), rng.uniform(30, 66)],
      tiltRad: rng.uniform(0, 0.25),
    },
  }),
  pinion: (rng) => ({ parts: [randomPinion(rng, nearCorner(rng))], wishes: closeUp(rng) }),
  "count-wheel": (rng) => ({ parts: [countWheel(rng)] }),
  "count-wheel-halves": (rng) => ({ parts: [halvesWheel(rng)] }),
  "count-wheel-faulty": (rng) => {
    const wheel = countWheel(rng);
    const notches = [...wheel.notches!];
    // One notch filled, or one sawn where none belongs.
    if (rng.chance(0.6)) notches.splice(rng.whole(2, 11), 1);
    else {
      const from = notches[rng.whole(6, 10)]!;
      notches.push({ ...from, angleRad: from.angleRad + (3 * 2 * Math.PI) / 78 });
    }
    return { parts: [{ ...wheel, notches }] };
  },
  "locking-cam": (rng) => {
    const wheel = one(rng, { toothCount: 20, moduleMm: rng.uniform(0.7, 1), crossings: 0 });
    const angleRad = rng.uniform(0, 6.28);
    const notches = Array.from({ length: rng.pick([1, 2]) }, (_, i) => ({
      angleRad: angleRad + i * Math.PI,
      halfWidthRad: 0.12,
    }));
    return { parts: [discOf({ ...wheel, notches, purpose: "locking-cam" }, 2)] };
  },
  "lantern-pinion": (rng) => {
    const trundles = rng.whole(6, 10);
    const radius = rng.uniform(3.6, 5.2);
    const wheel = one(rng, { toothCount: 20, moduleMm: radius / 10, crossings: 0, atMm: nearCorner(rng) });
    const pins = {
      count: trundles,
      circleRadiusMm: 0.72 * radius,
      pinRadiusMm: 0.32 * radius * Math.sin(Math.PI / trundles) + 0.15,
      upMm: 0.12,
      phaseRad: rng.uniform(0, 6),
    };
    const face = discOf({ ...wheel, notches: [], pins, purpose: "lantern-pinion" }, 1);
    return { parts: [{ ...face, faceHeightMm: 6, thicknessMm: 6, bevelMm: 0.1 }], wishes: closeUp(rng) };
  },
  "pin-wheel-escape": (rng) => {
    const radius = rng.uniform(17, 24);
    const wheel = one(rng, { toothCount: 60, moduleMm: radius / 30, crossings: rng.pick([4, 5]) });
    const pins = {
      count: rng.pick([30, 32, 36, 40]),
      circleRadiusMm: radius - 1.1,
      pinRadiusMm: 0.45,
      upMm: rng.uniform(2, 3.2),
      phaseRad: rng.uniform(0, 6),
    };
    return { parts: [discOf({ ...wheel, notches: [], pins, purpose: "pin-wheel" }, 1)] };
  },
  "spare-holes": (rng) => {
    const wheel = one(rng, { toothCount: rng.whole(60, 84), moduleMm: 0.7, crossings: 0 });
    const root = wheelOutline(wheel.outline).rootDiameterMm / 2;
    const spareHoles = Array.from({ length: rng.whole(3, 5) }, (_, i) => {
      const [r, t] = [rng.uniform(0.35, 0.9) * root, 1.2 * i + rng.uniform(0, 0.6)];
      return { atMm: [r * Math.cos(t), r * Math.sin(t)] as const, radiusMm: rng.uniform(0.4, 1) };
    });
    return { parts: [{ ...wheel, spareHoles, look: { ...wheel.look, scratches: 0.7, engraving: 0.7 } }] };
  },
  plate: (rng) => ({ parts: [randomPlate(rng)] }),
  // Both plates of one movement: the same seed gives the same movement.
  "plate-front": (rng, _, shared) => ({ parts: [plateOfPair(shared, rng, "front")] }),
  "plate-back": (rng, _, shared) => ({ parts: [plateOfPair(shared, rng, "back")] }),
  "wheel-on-plate": (rng) => ({ parts: heaps.wheelOnPlate(rng) }),
  "wheel-over-plate-edge": (rng) => ({ parts: heaps.wheelOverEdge(rng) }),
  "wheel-against-plate": (rng) => ({ parts: heaps.wheelAgainstPlate(rng) }),
  "pinion-against-plate": (rng) => ({ parts: heaps.pinionAgainstPlate(rng) }),
  "pillar-against-wheel": (rng) => ({ parts: heaps.pillarAgainstWheel(rng) }),
  scratched: single(() => ({ look: { scratches: 1, engraving: 0 } })),
  engraved: single(() => ({ look: { scratches: 0.2, engraving: 1 }, crossings: 0 })),
  "plain-paper": offMat("white-paper"),
  cloth: offMat("cloth"),
  wood: offMat("wood"),
  "dark-board": offMat("dark-board"),
  "light-table": offMat("light-table"),
  distractors: (rng) => ({ parts: clutter.things(rng, rng.whole(4, 8)) }),
  "wheel-and-distractors": (rng) => {
    const wheel = one(rng, { atMm: somewhere(rng, 8) });
    const free = (p: ScenePart): boolean =>
      Math.hypot(p.atMm[0] - wheel.atMm[0], p.atMm[1] - wheel.atMm[1]) > tipRadiusMm(wheel) + 22;
    return { parts: [wheel, ...clutter.things(rng, 9).filter(free)] };
  },
  "cut-off": (rng) => {
    const wheel = one(rng, { atMm: [0, 0], moduleMm: 0.7 });
    const side = rng.pick([1, -1]);
    const overlap = rng.uniform(0.2, 0.8) * tipRadiusMm(wheel);
    // The wheel lies across the upper or lower edge of the picture.
    return {
      parts: [wheel],
      wishes: { targetMm: [0, side * (95 + overlap - tipRadiusMm(wheel) / 2)], longSideMm: 190 },
    };
  },
  touching: (rng) => {
    const first = randomWheel(rng, { label: "T1", toothCount: rng.whole(60, 80), moduleMm: 0.6 });
    const second = randomWheel(rng, { label: "T2", toothCount: rng.whole(48, 64), moduleMm: 0.6 });
    const apart = tipRadiusMm(first) + tipRadiusMm(second) + rng.uniform(0.02, 0.15);
    const angle = rng.uniform(0, 6.28);
    const half = apart / 2;
    const at = [half * Math.cos(angle), half * Math.sin(angle)] as const;
    return {
      parts: [
        { ...first, atMm: at },
        { ...second, atMm: [-at[0], -at[1]] },
      ],
    };
  },
  "mat-only": () => ({ parts: [] }),
  "upside-down": photographed((rng) => ({ rollRad: Math.PI + rng.normal(0.05) })),
  turned: photographed((rng) => ({ rollRad: rng.uniform(0, 6.28), longSideMm: 400 })),
  close: single((rng) => ({ atMm: nearCorner(rng) }), closeUp),
  bowed: photographed((rng) => ({ ground: { ...matGround(), bowMm: rng.uniform(0.5, 2) } })),
  letter: photographed(() => ({ ground: matGround("letter") })),
  a3: single(
    () => ({ moduleMm: 1 }),
    () => ({ ground: matGround("a3") }),
  ),
  // The A4 sheet printed on US Letter "to fit".
  "wrong-paper": photographed(() => {
    const [a4, letter] = [describeSheet("a4"), describeSheet("letter")];
    const fit = Math.min((letter.widthMm - 8) / a4.widthMm, (letter.heightMm - 8) / a4.heightMm);
    return { ground: { ...matGround("a4", fit, fit), sheetMm: [letter.widthMm, letter.heightMm] } };
  }),
  "two-mats": photographed((rng) => ({
    ground: {
      ...matGround(),
      second: {
        paper: "letter",
        atMm: [rng.uniform(120, 150), rng.uniform(-60, 60)],
        turnRad: rng.normal(0.2),
      },
    },
    longSideMm: 400,
    targetMm: [50, 0],
  })),
  // A selfie camera's picture: the sheet reads backwards.
  mirrored: (rng) => ({
    parts: [one(rng)],
    after: (scene) => ({ ...scene, camera: { ...scene.camera, fxPx: -scene.camera.fxPx } }),
  }),
  // A lens that k1 and k2 cannot describe.
  decentred: photographed((rng) => ({
    camera: { p1: rng.uniform(0.001, 0.002), p2: -rng.uniform(0.001, 0.002) },
  })),
} satisfies Record<string, Maker>;

export type SceneKind = keyof typeof makers;
export const sceneKinds = Object.keys(makers) as readonly SceneKind[];

/** A random photograph of a kind; the same kind, seed and size give the same scene. */
export function sceneOfKind(kind: SceneKind, seed: number, size: PictureSize = "3mp"): Scene {
  const rng = random(seed, kind);
  const maker: Maker = makers[kind];
  const draft = maker(rng.stream("parts"), size, random(seed, "shared"));
  const scene = sceneOver(rng.stream("photograph"), kind, draft.parts, { size, ...draft.wishes });
  return draft.after ? draft.after(scene) : scene;
}

function damaged(damage: (rng: Random, toothCount: number) => WheelWishes["outline"]): Maker {
  return (rng) => {
    const toothCount = rng.pick([48, 54, 60, 64, 72, 75, 78, 80, 84, 90]);
    const outline = damage(rng, toothCount);
    return { parts: [one(rng, { toothCount, ...(outline ? { outline } : {}) })] };
  };
}

function withArbor(arbor: (rng: Random) => Parameters<typeof randomArbor>[2]): Maker {
  return (rng) => {
    const wheel = one(rng);
    const up = randomArbor(rng, wheel.boreRadiusMm, arbor(rng));
    const pinion = {
      leaves: rng.pick([6, 7, 8, 10, 12]),
      moduleMm: Math.max(0.35, 0.5 * up.radiusMm),
      fromMm: 0.35 * up.upMm,
      lengthMm: 0.3 * up.upMm,
      phaseRad: rng.uniform(0, 6),
    };
    return {
      parts: [{ ...wheel, arbor: up, pinion, collet: { radiusMm: 1.6 * wheel.boreRadiusMm, upMm: 1.5 } }],
    };
  };
}

/** A wheel with lifting pins on its rim. */
function pinWheel(rng: Random, howMany: (rng: Random) => number): WheelPart {
  const wheel = one(rng, { toothCount: rng.whole(70, 84), moduleMm: 0.7, crossings: rng.pick([0, 4, 5]) });
  const root = wheelOutline(wheel.outline).rootDiameterMm / 2;
  const rim = wheel.crossings?.rimRadiusMm ?? 0.82 * root;
  const pins = {
    count: howMany(rng),
    circleRadiusMm: (rim + root) / 2,
    pinRadiusMm: Math.min(0.75, 0.3 * (root - rim) + 0.2),
    upMm: rng.uniform(3, 5),
    phaseRad: rng.uniform(0, 6),
  };
  return { ...wheel, pins };
}

/** A wheel's disc without teeth. */
function discOf(wheel: WheelPart, depthMm: number): WheelPart {
  const { toothCount, moduleMm } = wheel.outline;
  return { ...wheel, type: "count-wheel", outline: { toothCount, moduleMm, form: "cycloidal", depthMm } };
}

/** Hours with one blow at every half hour: 90 steps, and slots that hold the hour's place and the half hour's. */
function halvesWheel(rng: Random): WheelPart {
  const wheel = countWheel(rng);
  const start = rng.uniform(0, 6.28);
  const step = (2 * Math.PI) / 90;
  const own = rng.chance(0.5);
  let blows = 0;
  const notches = Array.from({ length: 12 }, (_, i) => {
    const hour = blows + i + 1;
    blows = hour + 1;
    return own
      ? [hour, hour + 1].map((b) => ({ angleRad: start + b * step, halfWidthRad: 0.02 }))
      : [{ angleRad: start + (hour + 0.5) * step, halfWidthRad: 0.02 + step / 2 }];
  }).flat();
  return { ...wheel, notches };
}

/** Twelve notches, as far apart as the strike takes for 1 to 12 blows (one turn in 78 steps). */
function countWheel(rng: Random): WheelPart {
  const wheel = one(rng, { toothCount: 60, moduleMm: 1, crossings: rng.pick([0, 4, 5]) });
  const start = rng.uniform(0, 6.28);
  let blows = 0;
  const notches = Array.from({ length: 12 }, (_, i) => {
    blows += i + 1;
    return { angleRad: start + (blows * 2 * Math.PI) / 78, halfWidthRad: 0.022 };
  });
  const { toothCount, moduleMm } = wheel.outline;
  return {
    ...wheel,
    type: "count-wheel",
    notches,
    outline: { toothCount, moduleMm, form: "cycloidal", depthMm: 3 },
  };
}
