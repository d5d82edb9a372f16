import { describe, expect, test } from "vitest";
import { expandedUncertainty } from "../../src/quantity/index.js";
import { playMovements } from "../../src/survey/play/play-movements.js";
import { random, simulatePlay, type PlayWishes } from "./simulate.js";

const degree = Math.PI / 180;
const rng = random(5, "play sets");
const run = (wishes: PlayWishes) => {
  const movements = playMovements(simulatePlay(rng, wishes));
  if (movements === undefined) throw new Error("the readings leave an unknown open");
  return movements;
};
const many = (n: number, wishes: (i: number) => PlayWishes) =>
  Array.from({ length: n }, (_, i) => run(wishes(i)));
const share = (list: readonly boolean[]): number => list.filter(Boolean).length / list.length;

describe("240 simulated tight wheels, with camera in the hand or on a stand, moved about or not", () => {
  const all = many(240, (i) => ({
    photos: 2 + (i % 4),
    stand: i % 2 === 0,
    movedAbout: i % 3 === 0,
  }));

  test("none is called loose", () => {
    expect(all.filter((m) => m.radial.seen === "moved")).toHaveLength(0);
    expect(all.filter((m) => m.twist.seen === "moved")).toHaveLength(0);
    expect(all.filter((m) => m.rock.seen === "moved" && !m.leanedTogether)).toHaveLength(0);
  });

  test("the limit is what noise exceeds once in 20, neither boastful nor timid", () => {
    const still = share(all.map((m) => m.radial.seen === "still"));
    expect(still).toBeGreaterThan(0.9);
    expect(still).toBeLessThan(0.995);
    expect(share(all.map((m) => m.twist.seen === "still"))).toBeGreaterThan(0.9);
  });

  test("intervals of the play hold zero in at least 90 %", () => {
    expect(
      share(all.map(({ radial: { greatest: q } }) => q.value <= expandedUncertainty(q))),
    ).toBeGreaterThan(0.9);
    expect(share(all.map(({ twist: { greatest: q } }) => q.value <= expandedUncertainty(q)))).toBeGreaterThan(
      0.9,
    );
  });
});

test("radial play of 0.05 mm is found, four photographs from a stand", () => {
  const all = many(60, () => ({ photos: 4, stand: true, radialMm: 0.05 }));
  expect(share(all.map((m) => m.radial.seen === "moved"))).toBeGreaterThan(0.5);
  // Where it is not called loose, it is at least not called still.
  expect(share(all.map((m) => m.radial.seen !== "still"))).toBeGreaterThan(0.9);
});

test("radial play of 0.08 to 0.3 mm is found with the camera in the hand, and its interval holds it", () => {
  const sizes = Array.from({ length: 100 }, (_, i) => 0.08 + 0.0022 * i);
  const all = sizes.map((radialMm, i) => run({ photos: 4, stand: i % 2 === 0, radialMm }));
  expect(share(all.map((m) => m.radial.seen === "moved"))).toBeGreaterThan(0.9);
  const held = share(
    all.map(({ radial: { greatest: q } }, i) => Math.abs(q.value - sizes[i]!) <= expandedUncertainty(q)),
  );
  expect(held).toBeGreaterThanOrEqual(0.88);
});

test("a twist of 0.3 degrees is found and measured", () => {
  const all = many(60, (i) => ({ photos: 2 + (i % 3), stand: i % 2 === 0, twistRad: 0.3 * degree }));
  expect(share(all.map((m) => m.twist.seen === "moved"))).toBeGreaterThan(0.9);
  const held = share(
    all.map(({ twist: { greatest: q } }) => Math.abs(q.value - 0.3 * degree) <= expandedUncertainty(q)),
  );
  expect(held).toBeGreaterThanOrEqual(0.88);
});

test("a rock of 3 degrees is found, and is no sideways play", () => {
  const all = many(40, () => ({ photos: 4, stand: true, rockRad: 3 * degree }));
  expect(share(all.map((m) => m.rock.seen === "moved" && !m.leanedTogether))).toBeGreaterThan(0.9);
  expect(share(all.map((m) => m.radial.seen === "moved"))).toBeLessThan(0.1);
});

test("wheel and arbor that lean over together are not taken for a rock", () => {
  const all = many(40, () => ({ photos: 4, stand: true, leanRad: 4 * degree }));
  expect(all.filter((m) => m.rock.seen === "moved" && !m.leanedTogether)).toHaveLength(0);
});
