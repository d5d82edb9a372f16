import { randomArbor, randomWheel } from "./random-parts.js";
import type { Random } from "./random.js";
import type { ScenePart, WheelPart } from "./scene.js";
import { wheelOutline } from "./wheel-outline.js";

export const tipRadiusMm = (part: WheelPart): number =>
  part.type === "count-wheel"
    ? (part.outline.toothCount * part.outline.moduleMm) / 2
    : wheelOutline(part.outline).tipDiameterMm / 2;

/** Wheels spread over the working field without touching; those that find no room are left out. */
export function spread(rng: Random, wheels: readonly WheelPart[], halfX: number, halfY: number): WheelPart[] {
  const placed: { part: WheelPart; radius: number }[] = [];
  const bySize = [...wheels].sort((a, b) => tipRadiusMm(b) - tipRadiusMm(a));
  for (const part of bySize) {
    const radius = tipRadiusMm(part);
    for (let attempt = 0; attempt < 3000; attempt++) {
      const x = rng.uniform(-halfX + radius, halfX - radius);
      const y = rng.uniform(-halfY + radius, halfY - radius);
      const free = placed.every(
        (p) => Math.hypot(p.part.atMm[0] - x, p.part.atMm[1] - y) > p.radius + radius + 3,
      );
      if (!free) continue;
      placed.push({ part: { ...part, atMm: [x, y] }, radius });
      break;
    }
  }
  return placed.map((p) => p.part);
}

/** The time and strike train of a small clock, laid out. */
export function tray(rng: Random, count: number): WheelPart[] {
  const labels = ["T1", "T2", "T3", "S1", "S2", "S3", "S4", "T4"];
  const wheels = labels.slice(0, count).map((label, i): WheelPart => {
    const look = { metal: rng.pick(["brass", "brass", "brass", "patinated-brass"] as const) };
    if (label === "T4")
      return randomWheel(rng, {
        label,
        form: rng.pick(["escape-recoil", "escape-deadbeat"] as const),
        toothCount: 30,
        moduleMm: 0.9,
        look,
      });
    const moduleMm = [0.8, 0.65, 0.55, 0.75, 0.6, 0.5, 0.45][i]!;
    const toothCount = rng.whole(44, Math.min(80, Math.floor(54 / moduleMm)));
    const wheel = randomWheel(rng, { label, toothCount, moduleMm, look });
    if (i % 2 === 0) return wheel;
    return {
      ...wheel,
      arbor: randomArbor(rng, wheel.boreRadiusMm),
      collet: { radiusMm: 1.6 * wheel.boreRadiusMm, upMm: 1.2 },
    };
  });
  return spread(rng, wheels, 68, 110);
}

/** Its tag, below the wheel. */
export function tagBeside(rng: Random, wheel: WheelPart): ScenePart {
  const below = -tipRadiusMm(wheel) - 11;
  return {
    type: "tag",
    tagLabel: wheel.label,
    label: wheel.label,
    atMm: [wheel.atMm[0] + rng.normal(2), wheel.atMm[1] + below],
    faceHeightMm: 0.2,
    thicknessMm: 0.2,
    turnRad: rng.normal(0.15),
    tiltRad: 0,
    tiltDirectionRad: 0,
  };
}
