import { describe, expect, test } from "vitest";
import { seededRandom } from "../../src/quantity/index.js";
import { arborDistance, depthFromPlates, meanDistance } from "../../src/trains/depth-from-plates.js";
import { joinPlateViews, matchPlates, type PlateHole } from "../../src/trains/match-plates.js";

const hole = (id: string, xMm: number, yMm: number, more: Partial<PlateHole> = {}): PlateHole => ({
  id,
  xMm,
  yMm,
  uMm: 0.012,
  diameterMm: 2,
  ...more,
});

/** Invented movement: four pillars at the corners of a rectangle, seven arbors. */
const front = [
  hole("p1", 30, 40),
  hole("p2", -30, 40),
  hole("p3", -30, -40),
  hole("p4", 30, -40),
  hole("great", -12, -24),
  hole("centre", -8, 2),
  hole("third", 4, 19),
  hole("escape", 1, 33),
  hole("strike great", 14, -25),
  hole("pin", 17, 1),
  hole("lock", 10, 24),
];

/** Seen from the other side, turned and shifted, with noise. */
function turnedOver(
  holes: readonly PlateHole[],
  angle: number,
  noise: () => number,
  mirror = true,
): PlateHole[] {
  return holes.map((h) => {
    const x = mirror ? -h.xMm : h.xMm;
    return {
      ...h,
      id: `${h.id} back`,
      xMm: Math.cos(angle) * x - Math.sin(angle) * h.yMm + 5 + noise(),
      yMm: Math.sin(angle) * x + Math.cos(angle) * h.yMm - 3 + noise(),
    };
  });
}

describe("the two plates of a movement", () => {
  test("lie over each other, one turned over, whatever way they were photographed", () => {
    const random = seededRandom(3);
    for (const angle of [0.1, 1.7, -2.6]) {
      const back = turnedOver(front, angle, () => 0.012 * random.normal());
      const match = matchPlates(front, back, { mirrored: true });
      expect(match.matched).toBe(true);
      if (!match.matched) continue;
      expect(match.holes).toHaveLength(front.length);
      for (const h of match.holes) expect(h.second.id).toBe(`${h.first.id} back`);
      // Two plates, two coordinates, 0.012 mm each.
      expect(match.rmsMm).toBeLessThan(0.04);
    }
  });

  test("hole by hole: one is missing, one was drilled besides, one arbor leans by 0.3 mm", () => {
    const back = turnedOver(front, 0.4, () => 0).filter((h) => h.id !== "lock back");
    const centre = back.findIndex((h) => h.id === "centre back");
    back[centre] = { ...back[centre]!, xMm: back[centre]!.xMm + 0.3 };
    back.push(hole("spare", 11, 7));
    const match = matchPlates(front, back, { mirrored: true });
    expect(match.matched).toBe(true);
    if (!match.matched) return;
    expect(match.onlyFirst.map((h) => h.id)).toEqual(["lock"]);
    expect(match.onlySecond.map((h) => h.id)).toEqual(["spare"]);
    const off = match.holes.map((h) => [h.first.id, Math.hypot(...h.offMm)] as const);
    const [id, most] = off.sort((a, b) => b[1] - a[1])[0]!;
    expect(id).toBe("centre");
    // The others draw the fit by a tenth of it.
    expect(most).toBeGreaterThan(0.24);
    expect(most).toBeLessThan(0.31);
  });

  test("pillars alone fit two ways round: no match is claimed", () => {
    const pillars = front.slice(0, 4);
    const match = matchPlates(
      pillars,
      turnedOver(pillars, 0.3, () => 0),
      { mirrored: true },
    );
    expect(match.matched).toBe(false);
  });

  test("another movement's plate does not match", () => {
    const other = [
      [3, 9],
      [21, -14],
      [-17, 22],
      [8, 31],
      [-25, -19],
      [14, 16],
    ].map(([x, y], i) => hole(`o${i}`, x!, y!));
    expect(matchPlates(front, other, { mirrored: true }).matched).toBe(false);
  });
});

test("a plate larger than the field: two photographs that share six holes are one plate", () => {
  const upper = front.filter((h) => h.yMm > -30);
  const lower = turnedOver(
    front.filter((h) => h.yMm < 30),
    2.2,
    () => 0,
    false,
  );
  const joined = joinPlateViews(upper, lower);
  expect("holes" in joined).toBe(true);
  if (!("holes" in joined)) return;
  expect(joined.holes).toHaveLength(front.length);
  for (const h of front) {
    const nearest = Math.min(...joined.holes.map((j) => Math.hypot(j.xMm - h.xMm, j.yMm - h.yMm)));
    expect(nearest, h.id).toBeLessThan(1e-6);
  }
});

describe("depth from plates", () => {
  // Source: BS 978-2:1952 and general gearing: centre distance m (N + n) / 2. 96 into 8 at module 0.5: 26 mm.
  const module = { value: 0.5, u: 0.001 };
  const at = (value: number, wearMm = 0): Parameters<typeof depthFromPlates>[0] => ({
    value,
    u: 0.02,
    wearMm,
  });

  test.each([
    [26, "right"],
    [26.2, "too shallow"],
    [25.75, "too deep"],
    [26.1, "cannot tell"],
  ] as const)("arbors %f mm apart: %s", (distance, verdict) => {
    const depth = depthFromPlates(at(distance), 96, 8, { value: 0.5, u: 0.0005 });
    expect(depth.wantedMm.value).toBeCloseTo(26, 9);
    expect(depth.differenceMm.value).toBeCloseTo(distance - 26, 9);
    expect(depth.differenceModules).toBeCloseTo((distance - 26) / 0.5, 9);
    expect(depth.verdict).toBe(verdict);
  });

  // 20 modules apart were called "too deep".
  test("arbors that cannot mesh are named as such, not as a wrong depth", () => {
    const depth = depthFromPlates(at(14), 96, 8, { value: 0.5, u: 0.0005 });
    expect(depth.verdict).toBe("cannot tell");
    expect(depth.words).toContain("cannot mesh");
  });

  test("an uncertain module cannot tell", () => {
    expect(depthFromPlates(at(26), 96, 8, { value: 0.5, u: 0.005 }).verdict).toBe("cannot tell");
  });

  test("carries the doubt of distance and module: u² = u_a² + ((N + n) / 2)² u_m²", () => {
    const depth = depthFromPlates(at(26), 96, 8, module);
    expect(depth.differenceMm.u).toBeCloseTo(Math.hypot(0.02, 52 * 0.001), 9);
  });

  test("wear counts along the line of centres: an oval of 0.2 mm at 60 degrees to it adds 0.05 mm", () => {
    const a = hole("a", 0, 0, { ovalityMm: 0.2, ovalityAngleRad: Math.PI / 3 });
    const b = hole("b", 26, 0);
    const distance = arborDistance(a, b, 0);
    expect(distance.value).toBe(26);
    expect(distance.wearMm).toBeCloseTo(0.05, 9);
    expect(depthFromPlates(distance, 96, 8, module).wornDifferenceMm).toBeCloseTo(0.05, 9);
  });

  test("both plates: the mean, with half of their difference left open", () => {
    const mean = meanDistance(at(26), at(26.2));
    expect(mean.value).toBeCloseTo(26.1, 9);
    expect(mean.u).toBeCloseTo(Math.hypot(0.02, 0.02, 0.2) / 2, 9);
  });

  test("refuses counts that are none", () => {
    expect(() => depthFromPlates(at(26), 0, 8, module)).toThrow(RangeError);
  });
});
