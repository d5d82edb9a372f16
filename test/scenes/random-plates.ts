import type { Random } from "./random.js";
import type { PlatePart } from "./scene.js";

type Hole = PlatePart["holes"][number];
type At = readonly [number, number];

/** A movement seen from the front: where its arbors, pillars and screws go through the plates. */
interface Layout {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly arbors: readonly { readonly atMm: At; readonly diameterMm: number }[];
  readonly pillars: readonly At[];
  readonly screws: readonly At[];
}

/** Arbors of two trains, each reached from the one before it at a plausible centre distance. */
function randomLayout(rng: Random): Layout {
  const widthMm = rng.uniform(68, 92);
  const heightMm = rng.uniform(86, 116);
  const pillars = [
    [1, 1],
    [-1, 1],
    [-1, -1],
    [1, -1],
  ].map(([sx, sy]): At => [sx! * (widthMm / 2 - 7), sy! * (heightMm / 2 - 7)]);
  const arbors: { atMm: At; diameterMm: number }[] = [];
  const free = (at: At, gap: number): boolean =>
    Math.abs(at[0]) < widthMm / 2 - 5 &&
    Math.abs(at[1]) < heightMm / 2 - 5 &&
    [...pillars, ...arbors.map((a) => a.atMm)].every((p) => Math.hypot(p[0] - at[0], p[1] - at[1]) > gap);
  for (const side of [-1, 1]) {
    let from: At = [side * rng.uniform(0.16, 0.24) * widthMm, -rng.uniform(0.24, 0.3) * heightMm];
    let diameterMm = rng.uniform(3.2, 4.2);
    arbors.push({ atMm: from, diameterMm });
    for (let i = 0; i < 3; i++) {
      diameterMm *= rng.uniform(0.62, 0.75);
      for (let attempt = 0; attempt < 200; attempt++) {
        const distance = rng.uniform(14, 30);
        const angle = rng.uniform(0.2, Math.PI - 0.2);
        const at: At = [from[0] + distance * Math.cos(angle), from[1] + distance * Math.sin(angle)];
        if (!free(at, 9)) continue;
        arbors.push({ atMm: at, diameterMm: Math.max(1.1, diameterMm) });
        from = at;
        break;
      }
    }
  }
  const screws: At[] = [];
  for (let attempt = 0; attempt < 200 && screws.length < 2; attempt++) {
    const at: At = [rng.uniform(-0.4, 0.4) * widthMm, rng.uniform(-0.4, 0.4) * heightMm];
    if (free(at, 8) && screws.every((s) => Math.hypot(s[0] - at[0], s[1] - at[1]) > 8)) screws.push(at);
  }
  return { widthMm, heightMm, arbors, pillars, screws };
}

/** Front or back plate of one movement: the back is seen from outside, mirrored; each is worn in its own way. */
export function plateOfPair(layoutRng: Random, rng: Random, side: "front" | "back"): PlatePart {
  const layout = randomLayout(layoutRng);
  const mirror = ([x, y]: At): At => (side === "front" ? [x, y] : [-x, y]);
  const round = (atMm: At, diameterMm: number, use: NonNullable<Hole["use"]>): Hole => ({
    atMm: mirror(atMm),
    diameterMm,
    ovalityMm: 0,
    ovalityAngleRad: 0,
    use,
  });
  const pillarMm = layoutRng.uniform(4, 5.2);
  const screwMm = layoutRng.uniform(2.2, 2.8);
  const thicknessMm = layoutRng.uniform(2, 3);
  return {
    type: "plate",
    label: side === "front" ? "P1" : "P2",
    atMm: [rng.normal(3), rng.normal(5)],
    turnRad: rng.normal(0.08),
    tiltRad: 0,
    tiltDirectionRad: 0,
    faceHeightMm: thicknessMm,
    thicknessMm,
    widthMm: layout.widthMm,
    heightMm: layout.heightMm,
    bevelMm: rng.uniform(0.08, 0.15),
    look: { metal: "brass", finish: "brushed", mottling: 0.2, scratches: 0.2, engraving: 0 },
    holes: [
      ...layout.pillars.map((at) => round(at, pillarMm, "pillar")),
      ...layout.screws.map((at) => round(at, screwMm, "screw")),
      ...layout.arbors.map(({ atMm, diameterMm }): Hole => ({
        atMm: mirror(atMm),
        diameterMm,
        ovalityMm: rng.chance(0.5) ? rng.uniform(0.05, 0.4) : 0,
        ovalityAngleRad: rng.uniform(0, Math.PI),
        use: "pivot",
      })),
    ],
  };
}
