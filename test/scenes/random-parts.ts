import type { Crossings } from "./outlines.js";
import type { Random } from "./random.js";
import type { Arbor, FaceLook, WheelPart } from "./scene.js";
import { wheelOutline } from "./wheel-outline.js";
import type { WheelOutlineOptions } from "./wheel-outline.js";

export interface WheelWishes {
  readonly label?: string;
  readonly toothCount?: number;
  readonly moduleMm?: number;
  readonly form?: WheelOutlineOptions["form"];
  readonly crossings?: number;
  readonly atMm?: readonly [number, number];
  readonly eccentricMm?: number;
  readonly withArbor?: boolean;
  readonly look?: Partial<FaceLook>;
  readonly outline?: Partial<WheelOutlineOptions>;
  readonly depthMm?: number;
}

/** Modules of clock wheels, mm; counts as cut for train wheels. Common practice, no source. */
const modulesMm = [0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1];
const counts = [48, 50, 54, 56, 60, 64, 70, 72, 75, 78, 80, 84, 90, 96];

/** A plausible clock wheel lying flat on the sheet. */
export function randomWheel(rng: Random, wishes: WheelWishes = {}): WheelPart {
  const form = wishes.form ?? "cycloidal";
  const toothCount = wishes.toothCount ?? rng.pick(counts);
  const moduleMm = wishes.moduleMm ?? rng.pick(modulesMm);
  const cutting = 0.004 + 0.004 * rng.next();
  const outline: WheelOutlineOptions = {
    toothCount,
    moduleMm,
    form,
    leaves: rng.whole(6, 12),
    phaseRad: rng.uniform(0, 2 * Math.PI),
    indexErrorMm: Array.from({ length: toothCount }, () => rng.normal(cutting)),
    tipErrorMm: Array.from({ length: toothCount }, () => rng.normal(cutting)),
    ...(wishes.depthMm === undefined ? {} : { depthMm: wishes.depthMm }),
    ...wishes.outline,
  };
  const rootRadiusMm = wheelOutline(outline).rootDiameterMm / 2;
  const wanted = wishes.crossings ?? (rootRadiusMm > 9 ? rng.pick([4, 5, 6]) : 0);
  const crossings = wanted > 0 ? randomCrossings(rng, wanted, rootRadiusMm) : undefined;
  const boreRadiusMm = Math.min(0.16 * rootRadiusMm, rng.uniform(1, 2.6));
  const angle = rng.uniform(0, 2 * Math.PI);
  // Every wheel runs out a little.
  const e = wishes.eccentricMm ?? Math.abs(rng.normal(0.008));
  const thicknessMm = rng.uniform(1.2, 2.4);
  const look: FaceLook = {
    metal: "brass",
    finish: rng.pick(["turned", "turned", "brushed", "matt", "polished"] as const),
    mottling: rng.uniform(0, 0.3),
    scratches: rng.chance(0.3) ? rng.uniform(0, 0.25) : 0,
    engraving: 0,
    ...wishes.look,
  };
  return {
    type: "wheel",
    label: wishes.label ?? "",
    atMm: wishes.atMm ?? [0, 0],
    faceHeightMm: thicknessMm,
    thicknessMm,
    turnRad: 0,
    tiltRad: 0,
    tiltDirectionRad: 0,
    outline,
    ...(crossings ? { crossings } : {}),
    boreRadiusMm,
    boreAtMm: [-e * Math.cos(angle), -e * Math.sin(angle)],
    bevelMm: rng.uniform(0.03, 0.12),
    look,
    ...(wishes.withArbor
      ? { collet: { radiusMm: 1.7 * boreRadiusMm, upMm: 1.5 }, arbor: randomArbor(rng, boreRadiusMm) }
      : {}),
  };
}

export function randomArbor(rng: Random, boreRadiusMm: number, wishes: Partial<Arbor> = {}): Arbor {
  const radiusMm = Math.min(boreRadiusMm, rng.uniform(0.9, 1.8));
  return {
    radiusMm,
    upMm: rng.uniform(6, 12),
    downMm: 10,
    pivotRadiusMm: 0.4 * radiusMm,
    pivotLengthMm: 2,
    leanRad: 0,
    leanDirectionRad: 0,
    ...wishes,
  };
}

function randomCrossings(rng: Random, count: number, rootRadiusMm: number): Crossings {
  const rimRadiusMm = rootRadiusMm - Math.max(1.2, rng.uniform(0.1, 0.16) * rootRadiusMm);
  const hubRadiusMm = rng.uniform(0.24, 0.32) * rootRadiusMm;
  const arm = rng.uniform(0.09, 0.13) * rootRadiusMm;
  return {
    count,
    rimRadiusMm,
    hubRadiusMm,
    armHubMm: Math.min(1.25 * arm, hubRadiusMm * 0.8),
    armRimMm: 0.85 * arm,
    cornerMm: Math.min(0.8, 0.2 * (rimRadiusMm - hubRadiusMm)),
    phaseRad: rng.uniform(0, 2 * Math.PI),
  };
}

/** A pinion standing on its end face, arbor upwards. */
export function randomPinion(rng: Random, atMm: readonly [number, number]): WheelPart {
  const toothCount = rng.pick([6, 7, 8, 10, 12, 14, 16]);
  const lengthMm = rng.uniform(4, 9);
  return {
    type: "pinion",
    label: "T2",
    atMm,
    faceHeightMm: lengthMm,
    thicknessMm: lengthMm,
    turnRad: rng.uniform(0, 6),
    tiltRad: 0,
    tiltDirectionRad: 0,
    outline: { toothCount, moduleMm: rng.uniform(0.6, 1.1), form: "pinion" },
    boreRadiusMm: 0,
    boreAtMm: [0, 0],
    bevelMm: 0.1,
    look: { metal: "steel", finish: "turned", mottling: 0.1, scratches: 0, engraving: 0 },
    arbor: randomArbor(rng, 0.9, { upMm: rng.uniform(3, 9) }),
  };
}

/** Pinions of all sizes on their end, some with their arbor, each in its own shadow. */
export function pinionsOnEnd(rng: Random): WheelPart[] {
  return [0, 1, 2, 3, 4, 5].map((i): WheelPart => {
    const pinion = randomPinion(rng, [
      20 + 30 * (i % 2) + rng.uniform(-4, 4),
      34 + 30 * Math.floor(i / 2) + rng.uniform(-4, 4),
    ]);
    const { arbor, ...bare } = pinion;
    const outline = {
      ...pinion.outline,
      toothCount: rng.whole(6, 16),
      moduleMm: rng.uniform(0.4, 1),
    };
    const steel = rng.chance(0.8)
      ? pinion.look
      : { ...pinion.look, metal: rng.pick(["brass", "blued-steel"] as const) };
    const own = { outline, label: "", look: steel };
    return arbor === undefined || rng.chance(0.4)
      ? { ...bare, ...own, boreRadiusMm: 0.5 }
      : { ...pinion, ...own };
  });
}

/**
 * A wheel flat on the pierced sheet, its arbor let through, with the pinion above the wheel: on its hub, or some way up the
 * arbor; the arbor ends in a pivot not far above.
 */
export function wheelUnderPinion(rng: Random, atMm: readonly [number, number]): WheelPart {
  const wheel = randomWheel(rng, {
    label: "T2",
    atMm,
    toothCount: rng.pick([48, 54, 56, 60, 64, 70, 72, 78]),
    moduleMm: rng.pick([0.5, 0.55, 0.6, 0.7]),
    crossings: rng.pick([0, 0, 4, 5, 6]),
  });
  const leaves = rng.pick([6, 7, 8, 8, 9, 10, 12, 14, 16]);
  const moduleMm = rng.uniform(0.42, 0.75) * (leaves < 10 ? 1.15 : 0.95);
  const rootMm = wheelOutline({ toothCount: leaves, moduleMm, form: "pinion" }).rootDiameterMm / 2;
  const onHub = rng.chance(0.4);
  const fromMm = onHub ? rng.uniform(1.2, 2) : rng.uniform(3, 8);
  const lengthMm = rng.uniform(3.5, 7.5);
  const radiusMm = Math.min(0.8 * rootMm, wheel.boreRadiusMm, rng.uniform(0.7, 1.4));
  return {
    ...wheel,
    collet: {
      radiusMm: Math.max(1.6 * wheel.boreRadiusMm, rng.uniform(2.6, 4.4)),
      upMm: rng.uniform(0.8, 1.2),
    },
    arbor: randomArbor(rng, radiusMm, {
      radiusMm,
      upMm: fromMm + lengthMm + rng.uniform(0.3, 5),
      pivotLengthMm: rng.uniform(1, 2.5),
    }),
    pinion: { leaves, moduleMm, fromMm, lengthMm, phaseRad: rng.uniform(0, 6) },
  };
}

/** Leaves of other forms; cycloids and involutes need some leaves to have a foot. */
export const pinionsOfAnyForm = (rng: Random): WheelPart[] =>
  pinionsOnEnd(rng).map((pinion) => {
    const { toothCount } = pinion.outline;
    const form = toothCount < 13 ? "pinion" : rng.pick(["pinion", "cycloidal", "involute-like"] as const);
    return { ...pinion, outline: { ...pinion.outline, form } };
  });

/**
 * Arbors with their pinions, lying on the sheet about a place under the camera. The upper end of each points that way: the
 * renderer sees no body from below.
 */
export const pinionsLying = (rng: Random, aboutMm: readonly [number, number]): WheelPart[] =>
  [0, 1, 2, 3].map((i): WheelPart => {
    const pinion = randomPinion(rng, [0, 0]);
    const toothCount = rng.pick([6, 7, 8, 8, 9, 10, 10, 12, 12, 14, 16]);
    const moduleMm = rng.uniform(0.35, 0.7) * (toothCount < 10 ? 1.3 : 1);
    const outline = { ...pinion.outline, toothCount, moduleMm };
    const { tipDiameterMm, rootDiameterMm } = wheelOutline(outline);
    const away = (Math.PI / 2) * i + rng.uniform(-0.5, 0.5);
    const far = rng.uniform(14, 22);
    const riseRad = rng.uniform(0.04, 0.1);
    const lengthMm = rng.uniform(4.5, 8);
    const radiusMm = Math.min(0.42 * rootDiameterMm, rng.uniform(0.7, 1.3));
    const upMm = rng.uniform(4, 8);
    return {
      ...pinion,
      label: "",
      outline,
      atMm: [aboutMm[0] + far * Math.cos(away), aboutMm[1] + far * Math.sin(away)],
      faceHeightMm: tipDiameterMm / 2 + (lengthMm / 2) * Math.sin(riseRad),
      thicknessMm: lengthMm,
      tiltRad: Math.PI / 2 - riseRad,
      tiltDirectionRad: away + Math.PI + rng.uniform(-0.4, 0.4),
      arbor: randomArbor(rng, radiusMm, { radiusMm, upMm, downMm: rng.uniform(6, 12) }),
    };
  });
