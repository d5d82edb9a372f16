import { describe, expect, test } from "vitest";
import { countLeaves, type Leaves } from "../../../src/parts/pinion/count-leaves.js";
import { readLyingArbor } from "../../../src/parts/pinion/lying-arbor.js";

interface PinionShape {
  readonly leaves: number;
  readonly phaseRad?: number;
  readonly missing?: number;
  /** Pairs of neighbouring leaves between which a shadow passes half for metal. */
  readonly shadedAfter?: number;
  /** Shadows of these spaces pass for metal altogether. */
  readonly filled?: readonly number[];
}

type Metal = (x: number, y: number) => number;

/** Straight-sided leaves of 0.4 pitch at the tip circle of 3.2 mm about (0.3, -0.2), body of 1.5 mm. */
const metalOf =
  ({ leaves, phaseRad = 0.3, missing, shadedAfter, filled = [] }: PinionShape): Metal =>
  (x, y) => {
    const [dx, dy] = [x - 0.3, y + 0.2];
    const r = Math.hypot(dx, dy);
    const turns = (Math.atan2(dy, dx) - phaseRad) / (2 * Math.PI);
    const place = turns * leaves;
    const k = ((Math.round(place) % leaves) + leaves) % leaves;
    const across = (Math.abs(place - Math.round(place)) * 2 * Math.PI * r) / leaves;
    const half = (0.2 * 2 * Math.PI * 3.2) / leaves;
    // Edges run over 0.1 mm, as the network draws them.
    const soft = (inside: number): number => Math.min(1, Math.max(0, 0.5 + inside / 0.1));
    const leaf = k === missing ? 0 : Math.min(soft(half - across), soft(3.2 - r));
    const from = ((Math.floor(place) % leaves) + leaves) % leaves;
    const shade = from === shadedAfter && r < 3.1 ? 0.62 : filled.includes(from) && r < 3.1 ? 1 : 0;
    return Math.max(leaf, soft(1.5 - r), shade);
  };

const eye = { xMm: 60, yMm: -20, zMm: 260 };

/** A pinion of that face, so high, as the eye sees it on the mat: every plane is a copy, larger about the foot point. */
const standing =
  (face: Metal, heightMm: number): Metal =>
  (x, y) => {
    let most = 0;
    for (let k = 0; k <= 20; k++) {
      const by = (eye.zMm - (heightMm * k) / 20) / eye.zMm;
      most = Math.max(most, face(eye.xMm + by * (x - eye.xMm), eye.yMm + by * (y - eye.yMm)));
    }
    return most;
  };

const counted = (...pictures: Metal[]): Leaves | undefined => countLeaves(pictures, [-0.3, 0.1], 3.9, eye);

describe("leaves of a pinion on its end", () => {
  // Walls of 7 mm are seen 1.6 mm long here: as long as the pitch of twelve leaves.
  test.each([
    [6, 2],
    [6, 7],
    [7, 7],
    [8, 7],
    [9, 7],
    [10, 7],
    [11, 4],
    [12, 7],
    [14, 3],
    [16, 4],
  ])("counts %i though walls of %i mm are seen below them", (leaves, heightMm) => {
    const metal = standing(metalOf({ leaves }), heightMm);
    const found = counted(metal, metal)!;
    expect(found.count).toBe(leaves);
    expect(found.probability).toBeGreaterThan(0.95);
    // Half a cell, and what half a millimetre of height moves it by.
    expect(Math.hypot(found.xMm - 0.3, found.yMm + 0.2)).toBeLessThan(0.15);
    // These leaves are cut off square; round tops as wide reach out further.
    expect(Math.abs(found.tipMm - 3.2)).toBeLessThan(0.1);
    expect(Math.abs(found.heightMm - heightMm)).toBeLessThan(2 * found.uHeightMm);
  });

  test("a shadow between two leaves that passes for metal does not take one away", () => {
    const metal = standing(metalOf({ leaves: 8, shadedAfter: 3 }), 4);
    expect(counted(metal, metal)!.count).toBe(8);
  });

  test("a broken leaf is not surely counted away: 7 of 8", () => {
    const metal = standing(metalOf({ leaves: 8, missing: 2 }), 4);
    const found = counted(metal, metal);
    expect(found?.count).toBe(8);
    expect(found!.probability).toBeLessThan(0.95);
    expect(found!.places.filter((p) => !p.isSeen)).toHaveLength(1);
  });

  test("shadows in three of nine spaces leave a doubt", () => {
    const metal = standing(metalOf({ leaves: 9, filled: [7, 8, 0] }), 4);
    expect(counted(metal, metal)?.probability ?? 0).toBeLessThan(0.95);
  });

  test("a disc, a washer, a square and a nut are no pinions", () => {
    const disc = (x: number, y: number): number => (Math.hypot(x, y) < 3 ? 1 : 0);
    const washer = (x: number, y: number): number => (Math.abs(Math.hypot(x, y) - 2.5) < 0.6 ? 1 : 0);
    const square = (x: number, y: number): number => (Math.max(Math.abs(x), Math.abs(y)) < 2.6 ? 1 : 0);
    const nut = (x: number, y: number): number => {
      const aside = [0, 1, 2].map((k) =>
        Math.abs(x * Math.cos((k * Math.PI) / 3) + y * Math.sin((k * Math.PI) / 3)),
      );
      return Math.max(...aside) < 2.6 ? 1 : 0;
    };
    for (const face of [disc, washer, square, nut])
      for (const heightMm of [1, 4]) {
        const metal = standing(face, heightMm);
        expect(countLeaves([metal, metal], [0, 0], 3.4, eye)).toBeUndefined();
      }
  });

  test("two pictures that disagree, or one alone, make no sure count", () => {
    const [eight, seven] = [8, 7].map((leaves) => standing(metalOf({ leaves }), 4)) as [Metal, Metal];
    expect(counted(eight, seven)?.probability ?? 0).toBeLessThan(0.95);
    expect(counted(eight)!.probability).toBeLessThan(0.95);
  });

  test("five leaves are never sure: one of six may be hidden in all pictures alike", () => {
    const metal = standing(metalOf({ leaves: 5 }), 4);
    const five = counted(metal, metal)!;
    expect(five.count).toBe(5);
    expect(five.probability).toBeLessThan(0.95);
  });
});

describe("leaves by the light of the end face", () => {
  const faceMm = 5;
  /** Natural logarithm: the face is lighter than walls and shade, the paper lighter still. */
  const lightOf =
    (face: Metal, metal: Metal, walls = -1.6): Metal =>
    (x, y) => {
      const by = (eye.zMm - faceMm) / eye.zMm;
      const isFace = face(eye.xMm + by * (x - eye.xMm), eye.yMm + by * (y - eye.yMm)) > 0.5;
      return isFace ? -0.7 : metal(x, y) > 0.5 ? walls : -0.1;
    };
  const both = (metal: Metal, light: Metal): Leaves | undefined =>
    countLeaves([metal, metal], [-0.3, 0.1], 3.9, eye, light);

  // A pinion of seven leaves under an even sky, all of its leaves plain to see, was told from five by too little.
  test("make a count sure that walls and shade leave in doubt", () => {
    const shape = { leaves: 9, filled: [7, 8, 0] };
    const metal = standing(metalOf(shape), faceMm);
    expect(counted(metal, metal)?.probability ?? 0).toBeLessThan(0.95);
    const light = lightOf(metalOf({ leaves: 9 }), metal);
    const found = both(metal, light)!;
    expect(found.count).toBe(9);
    expect(found.probability).toBeGreaterThan(0.95);
    expect(found.places.every((p) => p.isSeen)).toBe(true);
  });

  test("are counted where a shadow all round passes for metal, and not surely by that alone", () => {
    const face = metalOf({ leaves: 10 });
    const shadow: Metal = (x, y) =>
      Math.max(standing(face, faceMm)(x, y), Math.hypot(x + 0.4, y - 0.1) < 3.8 ? 1 : 0);
    expect(counted(shadow, shadow)).toBeUndefined();
    const found = both(shadow, lightOf(face, shadow))!;
    expect(found.count).toBe(10);
    expect(found.probability).toBeLessThan(0.95);
    expect(found.probability).toBeGreaterThan(0.8);
    // Not known how high: the tips are those at 5 mm.
    expect(Math.abs(found.tipMm - 3.2)).toBeLessThan(0.1);
  });

  test("say nothing where walls are as light as the face", () => {
    const face = metalOf({ leaves: 9, filled: [7, 8, 0] });
    const metal = standing(face, faceMm);
    expect(both(metal, lightOf(face, metal, -0.7))?.probability ?? 0).toBeLessThan(0.95);
  });

  test("a disc with a shoulder of another light is no pinion", () => {
    const disc: Metal = (x, y) => (Math.hypot(x, y) < 3 ? 1 : 0);
    const metal = standing(disc, faceMm);
    expect(
      both(
        metal,
        lightOf((x, y) => (Math.hypot(x, y) < 2 ? 1 : 0), metal),
      ),
    ).toBeUndefined();
  });
});

describe("an arbor on its side", () => {
  /** 40 mm long, 2 mm thick, from s = -8 to 2 a pinion of 6 mm; lying at 30 degrees about (5, 4). */
  const angleRad = Math.PI / 6;
  const lying =
    (thick: number, from = -8) =>
    (x: number, y: number): number => {
      const [dx, dy] = [x - 5, y - 4];
      const s = dx * Math.cos(angleRad) + dy * Math.sin(angleRad);
      const t = dy * Math.cos(angleRad) - dx * Math.sin(angleRad);
      const half = s > from && s < from + 10 ? thick / 2 : 1;
      return Math.abs(s) < 20 && Math.abs(t) < half ? 1 : 0;
    };
  const box = { centreMm: [5, 4] as const, angleRad, lengthMm: 40, widthMm: 6 };

  test("shows its length and that of its pinion", () => {
    const found = readLyingArbor(lying(6), box)!;
    expect(found.lengthMm).toBe(40);
    expect(found.pinion.lengthMm).toBeCloseTo(10, 0);
    expect(found.pinion.widthMm).toBeCloseTo(6, 0);
    expect(found.pinion.atMm).toBeCloseTo(-3, 0);
    expect(found.rodMm).toBeCloseTo(2, 0);
  });

  test("a lantern is as long as from cap to cap, and thinner in its middle", () => {
    const lantern = (x: number, y: number): number => {
      const [dx, dy] = [x - 5, y - 4];
      const s = dx * Math.cos(angleRad) + dy * Math.sin(angleRad) + 3;
      // Caps of 7 mm, 2 mm thick, trundles of 4.4 mm over all: narrower than four fifths.
      return lying(Math.abs(s) < 3 ? 4.4 : 7)(x, y);
    };
    const found = readLyingArbor(lantern, { ...box, widthMm: 7 })!;
    expect(found.pinion.lengthMm).toBeCloseTo(10, 0);
    expect(found.pinion.waistMm).toBeCloseTo(4.4, 0);
  });

  test("a shadow that runs into the rod does not make it bent, nor shift its middle", () => {
    const shadowed = (x: number, y: number): number => {
      const [dx, dy] = [x - 5, y - 4];
      const s = dx * Math.cos(angleRad) + dy * Math.sin(angleRad);
      const t = dy * Math.cos(angleRad) - dx * Math.sin(angleRad);
      return Math.max(lying(6)(x, y), s > 8 && s < 13 && t > 0 && t < 2.6 ? 1 : 0);
    };
    const found = readLyingArbor(shadowed, box)!;
    const [x, y] = found.axis.at(0);
    expect(Math.hypot(x - 5, y - 4)).toBeLessThan(0.05);
  });

  test("a plain rod is none, nor a screw with its head at one end", () => {
    expect(readLyingArbor(lying(2), box)).toBeUndefined();
    expect(readLyingArbor(lying(6, -20.5), box)).toBeUndefined();
  });

  // A soft brass wheel, of whose rim the network saw one side alone, was an arbor of 12 mm with its pinion.
  test("a piece of a rim, thickest in its middle, is none", () => {
    const rim = (x: number, y: number): number => {
      const [r, t] = [Math.hypot(x, y), Math.atan2(y, x)];
      const half = Math.abs(t) < 0.16 ? 1.2 : 0.7;
      return Math.abs(t) < 0.38 && Math.abs(r - 16) < half ? 1 : 0;
    };
    const piece = { centreMm: [15.6, 0] as const, angleRad: Math.PI / 2, lengthMm: 12, widthMm: 2.6 };
    expect(readLyingArbor(rim, piece)).toBeUndefined();
  });
});
