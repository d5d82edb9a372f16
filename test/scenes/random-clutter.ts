import type { Random } from "./random.js";
import type { FaceLook, OtherPart, PlatePart, ScenePart } from "./scene.js";

const flat = { turnRad: 0, tiltRad: 0, tiltDirectionRad: 0, label: "" } as const;
const plain: FaceLook = { metal: "nickel", finish: "matt", mottling: 0.2, scratches: 0, engraving: 0 };

type At = readonly [number, number];

function thing(rng: Random, type: OtherPart["type"], atMm: At): OtherPart {
  const turnRad = rng.uniform(0, 2 * Math.PI);
  const size = (
    from: number,
    to: number,
    height: number,
    metals: readonly FaceLook["metal"][],
  ): OtherPart => ({
    ...flat,
    type,
    atMm,
    turnRad,
    sizeMm: rng.uniform(from, to),
    faceHeightMm: height,
    thicknessMm: height,
    look: { ...plain, metal: rng.pick(metals), finish: rng.pick(["matt", "polished", "turned"] as const) },
  });
  switch (type) {
    case "coin":
      return size(16, 28, 1.8, ["nickel", "copper", "brass"]);
    case "washer":
      return size(8, 26, 1.2, ["steel", "brass", "nickel"]);
    case "screw-head":
      return size(5, 12, 2.5, ["steel", "blued-steel", "brass"]);
    case "screw-lying":
      return size(14, 32, 3, ["steel", "brass"]);
    case "strip":
      return size(30, 60, 1.5, ["brass", "steel"]);
    case "finger":
      return { ...size(15, 18, 14, ["copper"]), thicknessMm: 13 };
    case "card":
      return size(40, 60, 0.3, ["nickel"]);
  }
}

export const clutter = {
  /** Coins, washers, screws and strips over the working field; nothing with teeth. */
  things(rng: Random, count: number): ScenePart[] {
    const types = ["coin", "coin", "washer", "washer", "screw-head", "screw-lying", "strip"] as const;
    const parts: ScenePart[] = [];
    for (let attempt = 0; attempt < 400 && parts.length < count; attempt++) {
      const at: At = [rng.uniform(-50, 50), rng.uniform(-90, 90)];
      // 36 mm apart keeps even two strips from lying over each other more than a corner.
      if (parts.every((p) => Math.hypot(p.atMm[0] - at[0], p.atMm[1] - at[1]) > 36)) {
        parts.push(thing(rng, rng.pick(types), at));
      }
    }
    return parts;
  },
  /** Two or three finger tips that hold the sheet down over its markers. */
  hand(rng: Random): ScenePart[] {
    const y = rng.uniform(-90, 60);
    const side = rng.pick([1, -1]);
    return [0, 1, 2].map((i): ScenePart => {
      const finger = thing(rng, "finger", [side * (80 - 6 * (i === 1 ? 1 : 0)), y + 19 * i]);
      return { ...finger, turnRad: (side > 0 ? 0 : Math.PI) + rng.normal(0.08) };
    });
  },
  card: (rng: Random, atMm: At): ScenePart => thing(rng, "card", atMm),
};

/** A small brass plate: pivot holes in size order, some worn oval, and four pillar holes. */
export function randomPlate(rng: Random): PlatePart {
  const widthMm = rng.uniform(60, 90);
  const heightMm = rng.uniform(80, 120);
  const pillar = (sx: number, sy: number): PlatePart["holes"][number] => ({
    atMm: [sx * (widthMm / 2 - 7), sy * (heightMm / 2 - 7)],
    diameterMm: 4,
    ovalityMm: 0,
    ovalityAngleRad: 0,
  });
  const pivots = Array.from({ length: rng.whole(4, 7) }, (_, i): PlatePart["holes"][number] => ({
    atMm: [rng.uniform(-0.25, 0.25) * widthMm, (0.3 - 0.1 * i) * heightMm],
    diameterMm: rng.uniform(1.2, 3.5),
    ovalityMm: rng.chance(0.5) ? rng.uniform(0.05, 0.4) : 0,
    ovalityAngleRad: rng.uniform(0, Math.PI),
  }));
  return {
    ...flat,
    type: "plate",
    label: "P1",
    atMm: [rng.normal(3), rng.normal(5)],
    turnRad: rng.normal(0.08),
    faceHeightMm: 2.5,
    thicknessMm: 2.5,
    widthMm,
    heightMm,
    bevelMm: 0.15,
    look: { metal: "brass", finish: "brushed", mottling: 0.2, scratches: 0.2, engraving: 0 },
    holes: [pillar(1, 1), pillar(-1, 1), pillar(-1, -1), pillar(1, -1), ...pivots],
  };
}
