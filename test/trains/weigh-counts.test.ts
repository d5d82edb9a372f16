import fc from "fast-check";
import { expect, test } from "vitest";
import type { PhotoEvidence } from "../../src/trains/index.js";
import { evaluateMovement, placeEvidence, weighCounts, withWeighedCounts } from "../../src/trains/index.js";
import { movementOf } from "./evaluated.js";

/** 80/8, 72/8, 40 teeth: 7200 beats an hour. */
const clock = movementOf(`
beats per hour: 7200
trains:
  time:
    arbors:
      great: { wheel: ? }
      centre: { pinion: ?, wheel: ?, hand: minute }
      third: { pinion: ?, wheel: ? }
      escape: { pinion: ?, escape wheel: ? }
`);

const seen = (
  position: string,
  kind: "wheel" | "pinion",
  ...counts: readonly (readonly [number, number])[]
): PhotoEvidence => ({
  position,
  kind,
  alternatives: counts.map(([count, probability]) => ({ count, probability })),
});

/** Sure photographs of all parts but those that are given. */
function photographs(...special: readonly PhotoEvidence[]): readonly PhotoEvidence[] {
  const sure = [
    seen("T1", "wheel", [96, 1]),
    seen("T2", "pinion", [8, 1]),
    seen("T2", "wheel", [80, 1]),
    seen("T3", "pinion", [8, 1]),
    seen("T3", "wheel", [72, 1]),
    seen("T4", "pinion", [8, 1]),
    seen("T4", "wheel", [40, 1]),
  ];
  return sure.map(
    (one) => special.find(({ position, kind }) => position === one.position && kind === one.kind) ?? one,
  );
}

const countOf = (result: ReturnType<typeof weighCounts>, position: string) =>
  result.counts.find((count) => count.position === position)!;

test("sure photographs that agree with the train stand", () => {
  const result = weighCounts(clock, photographs());
  expect(result).toMatchObject({
    consistent: true,
    unmet: [],
    suspects: [],
    searchLimited: false,
    unplaced: [],
  });
  expect(result.counts.map(({ count }) => count)).toEqual([96, 8, 80, 8, 72, 8, 40]);
  expect(result.verdict).toBeUndefined();
});

test("the train decides between counts that a photograph leaves open, and is named for it", () => {
  const result = weighCounts(clock, photographs(seen("T3", "wheel", [71, 0.6], [72, 0.38], [73, 0.02])));
  const third = countOf(result, "time.third.wheel");
  expect(third).toMatchObject({ count: 72, overruled: true, decidedBy: ["7200 beats an hour"] });
  // By hand: 71 is left 0.6 x 0.02 (a foreign part), 72 has 0.38, 73 0.02 x 0.02.
  expect(third.probability).toBeCloseTo(0.38 / (0.38 + 0.6 * 0.02 + 0.02 * 0.02), 3);
  expect(third.runnerUp?.count).toBe(71);
  expect(result.consistent).toBe(true);
});

test("two doubtful wheels are decided together: only one pair gives the beats", () => {
  const result = weighCounts(
    clock,
    photographs(
      seen("T2", "wheel", [79, 0.5], [80, 0.3], [81, 0.2]),
      seen("T3", "wheel", [71, 0.5], [72, 0.3], [73, 0.2]),
    ),
  );
  expect(countOf(result, "time.centre.wheel").count).toBe(80);
  expect(countOf(result, "time.third.wheel").count).toBe(72);
  expect(result.probability).toBeGreaterThan(0.8);
});

test("a replaced wheel: photographs stay as they are, and the wheel is named with what it should have", () => {
  const result = weighCounts(clock, photographs(seen("T3", "wheel", [70, 0.999])));
  expect(countOf(result, "time.third.wheel").count).toBe(70);
  expect(result.consistent).toBe(false);
  expect(result.unmet).toEqual(["7200 beats an hour"]);
  expect(result.suspects[0]).toMatchObject({ position: "time.third.wheel", count: 70, shouldBe: [72] });
  expect(result.verdict).toContain("the wheel of third (time) has 70 teeth, the train asks for 72");
});

/** Tip diameters of wheels and pinions of one module by the rules of thumb (N + 2.76) m and (n + 1.71) m. */
const sized = (evidence: PhotoEvidence, moduleMm: number): PhotoEvidence => {
  const addenda = evidence.kind === "wheel" ? 2.76 : 1.71;
  return {
    ...evidence,
    tipDiameterMm: { value: moduleMm * (evidence.alternatives[0]!.count + addenda), u: 0.03 },
  };
};

test("when two wheels could be at odds, the one that does not fit its mate is named", () => {
  // Beats of 3600 instead of 7200: either the centre wheel of 40 should be 80, or the third wheel of 36 be 72 ...
  const half = (centreModule: number, thirdModule: number) =>
    weighCounts(
      clock,
      photographs(seen("T2", "wheel", [40, 0.9995])).map((one) =>
        one.position === "T2" && one.kind === "wheel"
          ? sized(one, centreModule)
          : one.position === "T3" && one.kind === "wheel"
            ? sized(one, thirdModule)
            : one.kind === "pinion"
              ? sized(one, 0.8)
              : one,
      ),
    );
  const centreAtOdds = half(1.1, 0.8);
  expect(centreAtOdds.suspects[0]).toMatchObject({ position: "time.centre.wheel", shouldBe: [80] });
  expect(centreAtOdds.suspects[0]!.weight).toBeGreaterThan(0.8);
  expect(centreAtOdds.suspects[0]!.text).toContain("does not fit its mate");
  const thirdAtOdds = half(0.8, 1.1);
  expect(thirdAtOdds.suspects[0]).toMatchObject({ position: "time.third.wheel", shouldBe: [144] });
});

test("when nothing tells the suspects apart, both are named and it says so", () => {
  // 3600 beats: half of what is stated. Centre wheel, third wheel or escape wheel would have to be doubled.
  const result = weighCounts(clock, photographs(seen("T2", "wheel", [40, 1])));
  expect(result.verdict).toContain("which part is at odds cannot be told");
  expect(result.suspects.filter(({ weight }) => weight > 0.05).length).toBeGreaterThan(1);
});

test("a wheel of the right count that does not mate is a suspect by its size alone", () => {
  const result = weighCounts(
    clock,
    photographs().map((one) => sized(one, one.position === "T3" && one.kind === "wheel" ? 0.9 : 0.8)),
  );
  expect(result.consistent).toBe(false);
  expect(
    result.suspects
      .map(({ position }) => position)
      .slice(0, 2)
      .sort(),
  ).toEqual(["time.escape.pinion", "time.third.wheel"]);
  expect(result.suspects[0]!.text).toContain("has the right count but does not fit its mate");
});

test("module of the mate and centre distance decide a count that the beats do not", () => {
  const bare = movementOf(`
trains:
  strike:
    arbors:
      great: { wheel: ? }
      pin wheel: { pinion: ? }
`);
  const result = weighCounts(bare, [
    { ...seen("S1", "wheel", [78, 0.5], [79, 0.5]), tipDiameterMm: { value: 0.8 * 80.76, u: 0.01 } },
    {
      ...seen("S2", "pinion", [7, 0.55], [8, 0.45]),
      tipDiameterMm: { value: 0.8 * 9.71, u: 0.02 },
      // 0.8 (78 + 8) / 2.
      centreDistanceMm: { value: 34.4, u: 0.02 },
    },
  ]);
  expect(countOf(result, "strike.pin wheel.pinion")).toMatchObject({ count: 8, overruled: true });
  expect(countOf(result, "strike.pin wheel.pinion").decidedBy.join()).toContain("centre distance of 34.4 mm");
});

test("evidence for a place that the movement lacks is said to be left over", () => {
  const result = weighCounts(clock, [seen("S9", "wheel", [60, 1])]);
  expect(result.unplaced).toEqual(["S9 (wheel)"]);
});

test("a count in the file that the photographs contradict is shown beside theirs", () => {
  const typed = movementOf("trains: { time: { arbors: { great: { wheel: 96 } } } }");
  const [great] = weighCounts(typed, [seen("T1", "wheel", [95, 0.99])]).counts;
  expect(great).toMatchObject({ count: 95, written: 96 });
});

test("a lost count takes the weighed one, a written count stays", () => {
  const evidence = photographs(seen("T3", "wheel", [71, 0.6], [72, 0.4]));
  const doubt = weighCounts(clock, evidence);
  expect(doubt.counts.every(({ written }) => written === undefined)).toBe(true);
  const solved = evaluateMovement(withWeighedCounts(placeEvidence(clock, evidence).movement, doubt));
  expect(solved.trains[0]!.time?.beatsPerHour?.exact).toBe("7200");
  const typed = movementOf("trains: { time: { arbors: { great: { wheel: 96 } } } }");
  const kept = withWeighedCounts(typed, weighCounts(typed, [seen("T1", "wheel", [95, 0.99])]));
  expect(kept.trains[0]!.arbors[0]!.wheel?.teeth).toBe(96);
});

test("probabilities of the file itself (seen:) are weighed the same way", () => {
  const movement = movementOf(`
beats per hour: 7200
trains:
  time:
    arbors:
      centre: { wheel: 80, hand: minute }
      third: { pinion: 8, wheel: { seen: { 71: 0.6, 72: 0.4 } } }
      escape: { pinion: 8, escape wheel: 40 }
`);
  expect(weighCounts(movement).counts).toMatchObject([
    { position: "time.third.wheel", count: 72, overruled: true },
  ]);
});

test("the answer is the heaviest of all sets, tried one by one", () => {
  const alternatives = (truth: number) =>
    fc
      .uniqueArray(fc.integer({ min: truth - 2, max: truth + 2 }), { minLength: 2, maxLength: 4 })
      .chain((counts) =>
        fc.tuple(...counts.map(() => fc.double({ min: 0.05, max: 1, noNaN: true }))).map((weights) => {
          const sum = weights.reduce((a, b) => a + b, 0);
          return counts.map((count, i) => [count, weights[i]! / sum] as const);
        }),
      );
  fc.assert(
    fc.property(alternatives(80), alternatives(72), alternatives(8), (centre, third, leaves) => {
      const result = weighCounts(
        clock,
        photographs(
          seen("T2", "wheel", ...centre),
          seen("T3", "wheel", ...third),
          seen("T4", "pinion", ...leaves),
        ),
      );
      const sets: { readonly weight: number; readonly set: string }[] = [];
      for (const [a, pa] of centre)
        for (const [b, pb] of third)
          for (const [c, pc] of leaves) {
            const beats = (a * b * 80) / (8 * c);
            const chiSquared = ((beats / 7200 - 1) / 2e-4) ** 2;
            const weight = pa * pb * pc * (0.98 * Math.exp(-chiSquared / 2) + 0.02);
            sets.push({ weight, set: `${a} ${b} ${c}` });
          }
      const counts = ["time.centre.wheel", "time.third.wheel", "time.escape.pinion"].map(
        (p) => countOf(result, p).count,
      );
      const best = Math.max(...sets.map(({ weight }) => weight));
      const sum = sets.reduce((total, { weight }) => total + weight, 0);
      // Sets that are equal but for the last digits are equally right.
      const heaviest = sets.filter(({ weight }) => weight > best * (1 - 1e-6)).map(({ set }) => set);
      expect(heaviest).toContain(counts.join(" "));
      expect(result.probability).toBeCloseTo(best / sum, 5);
    }),
    { numRuns: 40 },
  );
});
