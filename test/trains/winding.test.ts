import fc from "fast-check";
import { expect, test } from "vitest";
import { codes, evaluated } from "./evaluated.js";
import { normals } from "./normals.js";

const wound = (power: string) => {
  const { trains, findings } = evaluated(
    `trains: { time: { power: ${power}, arbors: { great: { wheel: 96 }, centre: { pinion: 8, wheel: 60, hand: minute }, escape: { pinion: 6, escape wheel: 30 } } } }`,
  );
  return { ...trains[0]!.winding, findings };
};

/** Coils of a strip wound turn on turn from a diameter, counted one after another: an independent count. */
function coilsFrom(innerMm: number, lengthMm: number, thicknessMm: number): number {
  let left = lengthMm;
  for (let n = 0; ; n++) {
    const turn = Math.PI * (innerMm + (2 * n + 1) * thicknessMm);
    if (turn > left) return n + left / turn;
    left -= turn;
  }
}

test("a barrel's turns are the coils on the arbor less those at the wall", () => {
  fc.assert(
    fc.property(
      fc.double({ min: 25, max: 80, noNaN: true }),
      fc.double({ min: 0.25, max: 0.4, noNaN: true }),
      fc.double({ min: 0.2, max: 0.6, noNaN: true }),
      fc.double({ min: 0.3, max: 0.7, noNaN: true }),
      (inside, arborShare, thickness, filled) => {
        const arbor = inside * arborShare;
        const length = (filled * Math.PI * (inside ** 2 - arbor ** 2)) / (4 * thickness);
        const { spring, turns } = wound(
          `{ barrel: { inside: ${inside} mm, arbor: ${arbor} mm, spring length: ${length} mm, spring thickness: ${thickness} mm } }`,
        );
        // The count leaves a part of a coil: both agree to a few hundredths of a turn.
        expect(Math.abs(spring!.coilsWound.value - coilsFrom(arbor, length, thickness))).toBeLessThan(0.05);
        const holeLetDown = Math.sqrt(inside ** 2 - (4 * length * thickness) / Math.PI);
        expect(Math.abs(spring!.coilsLetDown.value - coilsFrom(holeLetDown, length, thickness))).toBeLessThan(
          0.05,
        );
        expect(turns!.value).toBeCloseTo(spring!.coilsWound.value - spring!.coilsLetDown.value, 9);
        expect(spring!.filledShare!.value).toBeCloseTo(filled, 4);
      },
    ),
    { numRuns: 50 },
  );
});

test("a spring that fills half the room gives most turns, and the result names that length", () => {
  const of = (length: number) =>
    wound(
      `{ barrel: { inside: 44 mm, arbor: 14 mm, spring length: ${length} mm, spring thickness: 0.35 mm } }`,
    );
  const best = of(1700).spring!.lengthForMostTurnsMm!.value;
  expect(best).toBeCloseTo((Math.PI * (44 ** 2 - 14 ** 2)) / (8 * 0.35), 6);
  expect(of(best).turns!.value).toBeGreaterThan(of(best * 0.97).turns!.value);
  expect(of(best).turns!.value).toBeGreaterThan(of(best * 1.03).turns!.value);
});

test("a spring larger than its barrel is a fault and gives no turns", () => {
  const { turns, findings } = wound(
    "{ barrel: { inside: 20 mm, arbor: 8 mm, spring length: 2 m, spring thickness: 0.5 mm } }",
  );
  expect(turns).toBeUndefined();
  expect(findings).toMatchObject([{ code: "spring-too-large", severity: "fault", line: 1 }]);
});

test("stop work limits the turns; a spring too weak for it is told", () => {
  const barrel = (stop: number) =>
    wound(
      `{ barrel: { inside: 44 mm, arbor: 14 mm, spring length: 1.7 m, spring thickness: 0.35 mm, stop work: ${stop} } }`,
    );
  expect(barrel(4).turns).toEqual({ value: 4 });
  expect(codes(barrel(30).findings)).toEqual(["stop-work-beyond-spring"]);
});

test("an open spring has fewer coils let down than wound", () => {
  const { spring, turns } = wound(
    "{ open spring: { let down: 90 mm, arbor: 12 mm, spring length: 2.4 m, spring thickness: 0.4 mm } }",
  );
  // Evenly spread coils have the mean diameter (90 + 12) / 2.
  expect(spring!.coilsLetDown.value).toBeCloseTo(2400 / (Math.PI * 51), 6);
  expect(Math.abs(spring!.coilsWound.value - coilsFrom(12, 2400, 0.4))).toBeLessThan(0.05);
  expect(turns!.value).toBeCloseTo(spring!.coilsWound.value - spring!.coilsLetDown.value, 9);
});

test("a weight turns the drum once for every circumference at the middle of its line", () => {
  const plain = wound("{ weight: { drop: 1500 mm, drum: 58 mm, line: 2 mm } }");
  expect(plain.turns!.value).toBeCloseTo(1500 / (Math.PI * 60), 9);
  const doubled = wound("{ weight: { drop: 1500 mm, drum: 58 mm, line: 2 mm, pulley: yes } }");
  expect(doubled.turns!.value).toBeCloseTo(2 * plain.turns!.value, 9);
  // Twelve hours a turn.
  expect(plain.hours!.value).toBeCloseTo(12 * plain.turns!.value, 9);
});

test("uncertainty of the spring's thickness comes through to the days (Monte Carlo)", () => {
  const { turns } = wound(
    "{ barrel: { inside: 44 mm, arbor: 14 mm, spring length: 1700 ± 20 mm, spring thickness: 0.35 ± 0.01 mm } }",
  );
  const coils = (L: number, t: number) =>
    (Math.sqrt(14 ** 2 + (4 * L * t) / Math.PI) - 14 - 44 + Math.sqrt(44 ** 2 - (4 * L * t) / Math.PI)) /
    (2 * t);
  const normal = normals(12345);
  const draws = Array.from({ length: 40_000 }, () => coils(1700 + 20 * normal(), 0.35 + 0.01 * normal()));
  const mean = draws.reduce((sum, x) => sum + x, 0) / draws.length;
  const u = Math.sqrt(draws.reduce((sum, x) => sum + (x - mean) ** 2, 0) / draws.length);
  // First order against drawn: a few per cent of u.
  expect(turns!.u! / u).toBeGreaterThan(0.95);
  expect(turns!.u! / u).toBeLessThan(1.05);
});

test("a spring whose size leaves it open does not belie its stop work", () => {
  const barrel = (u: string) =>
    wound(
      `{ barrel: { inside: 44 mm, arbor: 14 mm, spring length: 1700 mm, spring thickness: 0.35${u} mm, stop work: 8 } }`,
    );
  const { turns } = wound(
    "{ barrel: { inside: 44 mm, arbor: 14 mm, spring length: 1700 mm, spring thickness: 0.35 mm } }",
  );
  const asked = Math.ceil(turns!.value * 1.05);
  const stopped = (u: string) =>
    wound(
      `{ barrel: { inside: 44 mm, arbor: 14 mm, spring length: 1700 mm, spring thickness: 0.35${u} mm, stop work: ${asked} } }`,
    );
  expect(codes(stopped("").findings)).toEqual(["stop-work-beyond-spring"]);
  expect(codes(stopped(" ± 0.05").findings)).toEqual([]);
  expect(codes(barrel("").findings)).toEqual([]);
});
