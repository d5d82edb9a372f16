import { randomPlate } from "./random-clutter.js";
import { randomPinion, randomWheel } from "./random-parts.js";
import { tipRadiusMm } from "./random-tray.js";
import type { Random } from "./random.js";
import type { PlatePart, ScenePart, WheelPart } from "./scene.js";

/** Parts that lie on each other or against each other, as nobody should photograph them. */
export const heaps = {
  /** A wheel lies on the plate, its whole rim over brass. */
  wheelOnPlate(rng: Random): ScenePart[] {
    const plate = { ...randomPlate(rng), label: "" };
    const wheel = smallWheel(rng);
    const faceHeightMm = plate.faceHeightMm + wheel.thicknessMm;
    return [plate, { ...wheel, faceHeightMm, atMm: [rng.uniform(-12, 12), rng.uniform(-20, 20)] }];
  },
  /** A wheel lies half on the plate, half beside it, tipped over the plate's edge. */
  wheelOverEdge(rng: Random): ScenePart[] {
    const plate = plateBeside(rng);
    const wheel = smallWheel(rng);
    const faceHeightMm = plate.faceHeightMm + wheel.thicknessMm;
    const out = rng.uniform(-0.4, 0.5) * tipRadiusMm(wheel);
    return [plate, { ...wheel, faceHeightMm, atMm: beside(plate, out, rng.uniform(-20, 20)) }];
  },
  wheelAgainstPlate(rng: Random): ScenePart[] {
    const plate = plateBeside(rng);
    const wheel = smallWheel(rng);
    const gap = tipRadiusMm(wheel) + rng.uniform(0, 0.2);
    return [plate, { ...wheel, atMm: beside(plate, gap, rng.uniform(-20, 20)) }];
  },
  pinionAgainstPlate(rng: Random): ScenePart[] {
    const plate = plateBeside(rng);
    const pinion = { ...randomPinion(rng, [0, 0]), label: "" };
    const gap = tipRadiusMm(pinion) + rng.uniform(0, 0.2);
    return [plate, { ...pinion, atMm: beside(plate, gap, rng.uniform(-20, 20)) }];
  },
  /** A brass pillar stands on its end against a wheel. */
  pillarAgainstWheel(rng: Random): ScenePart[] {
    const wheel = { ...smallWheel(rng), atMm: [rng.uniform(-10, 10), rng.uniform(-10, 10)] as const };
    const radiusMm = rng.uniform(3.5, 5);
    const turn = rng.uniform(0, 2 * Math.PI);
    const apart = tipRadiusMm(wheel) + radiusMm + rng.uniform(0, 0.2);
    const atMm = [wheel.atMm[0] + apart * Math.cos(turn), wheel.atMm[1] + apart * Math.sin(turn)] as const;
    return [wheel, pillar(rng, radiusMm, atMm)];
  },
};

const smallWheel = (rng: Random): WheelPart =>
  randomWheel(rng, { toothCount: rng.whole(42, 70), moduleMm: rng.uniform(0.55, 0.7) });

/** With room for something on its right. */
function plateBeside(rng: Random): PlatePart {
  const plate = randomPlate(rng);
  return { ...plate, label: "", atMm: [20 - plate.widthMm / 2, 0] };
}

/** Off the right side of a plate, so far out and so far along. */
function beside(
  { atMm, widthMm, turnRad }: PlatePart,
  out: number,
  along: number,
): readonly [number, number] {
  const [x, y] = [widthMm / 2 + out, along];
  const [cos, sin] = [Math.cos(turnRad), Math.sin(turnRad)];
  return [atMm[0] + x * cos - y * sin, atMm[1] + x * sin + y * cos];
}

/** A plain cylinder on its end. */
function pillar(rng: Random, radiusMm: number, atMm: readonly [number, number]): WheelPart {
  const heightMm = rng.uniform(20, 32);
  const disc = randomWheel(rng, { toothCount: 20, moduleMm: radiusMm / 10, crossings: 0 });
  const { toothCount, moduleMm } = disc.outline;
  return {
    ...disc,
    type: "count-wheel",
    outline: { toothCount, moduleMm, form: "cycloidal", depthMm: 1 },
    notches: [],
    boreRadiusMm: 0,
    atMm,
    faceHeightMm: heightMm,
    thicknessMm: heightMm,
  };
}
