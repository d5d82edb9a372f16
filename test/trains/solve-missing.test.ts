import fc from "fast-check";
import { expect, test } from "vitest";
import type { Movement } from "../../src/trains/index.js";
import { changeCounts, evaluateMovement, solveMissing } from "../../src/trains/index.js";
import { movementOf } from "./evaluated.js";

/** A time train with these wheel and pinion counts, with its own beats stated. */
function timeTrain(
  wheels: readonly (number | "?")[],
  pinions: readonly (number | "?")[],
  escape: number | "?",
  beats: string,
): string {
  const [great, centre, third] = wheels;
  const [a, b, c] = pinions;
  return `
beats per hour: ${beats}
trains:
  time:
    power: { turns: 16 }
    arbors:
      great: { wheel: ${great} }
      centre: { pinion: ${a}, wheel: ${centre}, hand: minute }
      third: { pinion: ${b}, wheel: ${third} }
      escape: { pinion: ${c}, escape wheel: ${escape} }
`;
}

const usual = {
  wheel: fc.integer({ min: 40, max: 96 }),
  pinion: fc.integer({ min: 6, max: 12 }),
  escape: fc.integer({ min: 15, max: 40 }),
};

/** Beats of centre, third and escape, exactly as a decimal where it is one. */
const beatsOf = (centre: number, third: number, b: number, c: number, escape: number) =>
  (centre * third * escape * 2) / (b * c);

test("a wheel taken out of a train is among the answers, and its answer is exact", () => {
  fc.assert(
    fc.property(
      usual.wheel,
      usual.wheel,
      usual.pinion,
      usual.pinion,
      usual.escape,
      fc.constantFrom("centre", "third", "b", "c", "escape"),
      (centre, third, b, c, escape, lost) => {
        const beats = beatsOf(centre, third, b, c, escape);
        fc.pre(Number.isInteger(beats));
        const out = (name: string, count: number) => (name === lost ? ("?" as const) : count);
        const yaml = timeTrain(
          [96, out("centre", centre), out("third", third)],
          [8, out("b", b), out("c", c)],
          out("escape", escape),
          String(beats),
        );
        const [result, ...rest] = solveMissing(movementOf(yaml), { most: 1000 });
        expect(rest).toEqual([]);
        const truth = { centre, third, b, c, escape }[lost];
        // One unknown in one equation has one exact answer.
        expect(result!.answers.filter(({ exact }) => exact).map(({ counts }) => counts[0]!.count)).toEqual([
          truth,
        ]);
        expect(result!.answers[0]!.counts[0]!.count).toBe(truth);
        expect(result!.answers[0]!.gainsSecondsPerDay!.value).toBeCloseTo(0, 9);
      },
    ),
    { numRuns: 60 },
  );
});

test("a lost wheel and pinion are among the answers, and every exact answer gives the beats", () => {
  fc.assert(
    fc.property(
      usual.wheel,
      usual.wheel,
      usual.pinion,
      usual.pinion,
      usual.escape,
      (centre, third, b, c, escape) => {
        const beats = beatsOf(centre, third, b, c, escape);
        fc.pre(Number.isInteger(beats));
        const movement = movementOf(timeTrain([96, centre, "?"], [8, "?", c], escape, String(beats)));
        const [result] = solveMissing(movement, { most: 100_000 });
        const exact = result!.answers.filter((answer) => answer.exact);
        const pairs = exact.map(({ counts }) =>
          Object.fromEntries(counts.map(({ position, count }) => [position, count])),
        );
        expect(pairs).toContainEqual({ "time.third.wheel": third, "time.third.pinion": b });
        expect(result!.found).toBe(result!.answers.length);
        for (const { counts } of exact.slice(0, 5)) {
          const solved = evaluateMovement(changeCounts(movement, counts));
          expect(solved.trains[0]!.time?.beatsPerHour?.exact).toBe(String(beats));
        }
        // All pairs with the same quotient, counted apart.
        const all = Array.from({ length: 11 }, (_, i) => i + 6).filter((leaves) => {
          const wheel = (third / b) * leaves;
          return Math.abs(wheel - Math.round(wheel)) < 1e-9 && wheel > 19.5 && wheel < 160.5;
        });
        expect(exact.length).toBe(all.length);
      },
    ),
    { numRuns: 40 },
  );
});

test("scaling a wheel and the pinion that it drives changes no speed", () => {
  fc.assert(
    fc.property(usual.wheel, usual.pinion, fc.integer({ min: 2, max: 5 }), (wheel, pinion, factor) => {
      const speeds = (k: number) =>
        evaluateMovement(
          movementOf(timeTrain([96, wheel * k, 60], [8, pinion * k, 7], 30, "3600")),
        ).trains[0]!.arbors.map(({ turnsPerHour }) => turnsPerHour?.exact);
      expect(speeds(factor)).toEqual(speeds(1));
    }),
  );
});

test("the ratio over two meshes is the product of theirs", () => {
  fc.assert(
    fc.property(usual.wheel, usual.wheel, usual.pinion, usual.pinion, (first, second, a, b) => {
      const { trains, meshes } = evaluateMovement(
        movementOf(timeTrain([96, first, second], [8, a, b], 30, "3600")),
      );
      const turns = trains[0]!.arbors.map(({ turnsPerFirstTurn }) => turnsPerFirstTurn!.value);
      const ratios = meshes.map(({ gearRatio }) => gearRatio!.value);
      expect(turns[3]! / turns[1]!).toBeCloseTo(ratios[1]! * ratios[2]!, 9);
    }),
  );
});

// Source: W. Derham, The Artificial Clock-maker, 1696, X.2: 60/8, 56/7, 30 teeth beat seconds.
test("Derham's lost third wheel and pinion come back as 56 on 7, with what each other answer would ask of the pendulum", () => {
  const [result] = solveMissing(movementOf(timeTrain([96, 60, "?"], [8, 8, "?"], 30, "3600")));
  const pairs = result!.answers
    .filter(({ exact }) => exact)
    .map(({ counts }) => counts.map(({ count }) => count));
  // Positions in the order of the arbors: third wheel, escape pinion; eight to one.
  expect(pairs).toContainEqual([56, 7]);
  expect(pairs).toContainEqual([64, 8]);
  expect(pairs).toContainEqual([48, 6]);
  expect(pairs).toContainEqual([80, 10]);
  for (const { exact, pendulumChangeMm, gainsSecondsPerDay } of result!.answers) {
    if (exact) expect(pendulumChangeMm!.value).toBeCloseTo(0, 9);
    else expect(Math.sign(pendulumChangeMm!.value)).toBe(Math.sign(gainsSecondsPerDay!.value));
  }
});

test("a tooth more than right asks for the pendulum that the closed form gives", () => {
  const movement = movementOf(timeTrain([96, 60, "?"], [8, 8, 7], 30, "3600"));
  const [result] = solveMissing(movement, { most: 100 });
  // Two per cent of 56 is 1.1 teeth; five are 2.8.
  const counts = (share?: number) =>
    solveMissing(movement, share === undefined ? {} : { beatsShare: share })[0]!
      .answers.map((answer) => answer.counts[0]!.count)
      .sort((a, b) => a - b);
  expect(counts()).toEqual([55, 56, 57]);
  expect(counts(0.05)).toEqual([54, 55, 56, 57, 58]);
  const next = result!.answers.find(({ counts }) => counts[0]!.count === 57)!;
  expect(next.exact).toBe(false);
  // Beats go up by 57/56, so the length goes down by its square; L = 993.62 mm at 9.80665 m/s².
  expect(next.pendulumLengthMm!.value).toBeCloseTo(993.6214 * (56 / 57) ** 2, 2);
  expect(next.pendulumChangeMm!.value).toBeCloseTo(993.6214 * ((56 / 57) ** 2 - 1), 2);
  // With the old pendulum it would lose 1 part in 57.
  expect(next.gainsSecondsPerDay!.value).toBeCloseTo(-86400 / 57, 6);
});

const sized = (third: string) => `
pendulum: { length: 365 ± 2 mm }
trains:
  time:
    arbors:
      centre: { wheel: { teeth: 72, tip diameter: 47.85 ± 0.05 mm }, hand: minute }
      third: { ${third}, centre distance: 25.6 ± 0.1 mm }
      escape: { pinion: 7, escape wheel: 33 }
`;

test("centre distance and the mate's size single out the leaves", () => {
  // Module 47.85 / 74.76 = 0.640 mm; 2 x 25.6 / 0.640 - 72 = 8 leaves.
  const [result] = solveMissing(movementOf(sized("pinion: ?, wheel: ?")));
  const [best] = result!.answers;
  expect(best!.counts.map(({ count }) => count)).toEqual([8, 70]);
  expect(best!.weight).toBeGreaterThan(0.9);
  const blank = best!.blanks.find(({ position }) => position === "time.third.pinion")!;
  expect(blank.moduleMm.value).toBeCloseTo(0.64, 3);
  // Up to ten leaves: (8 + 1.71) m.
  expect(blank.tipDiameterMm.value).toBeCloseTo(9.71 * 0.64, 2);
  expect(blank.tipDiameterMm.u).toBeGreaterThan(0);
});

test("strike wheels come from locking, warning and count wheel", () => {
  const results = solveMissing(
    movementOf(`
trains:
  strike:
    arbors:
      great: { wheel: ?, count wheel: yes }
      pin wheel: { pinion: 8, wheel: 64, pins: 8 }
      hoop: { pinion: 8, wheel: 56, locks: 1 }
      warning: { pinion: ?, wheel: 48, warning: 1 }
      fly: { pinion: ?, fly: yes }
`),
  );
  expect(results.map(({ missing }) => missing[0]!.position)).toEqual([
    "strike.great.wheel",
    "strike.warning.pinion",
    "strike.fly.pinion",
  ]);
  const [great, warning, fly] = results;
  expect(great!.answers.map(({ counts, exact }) => [counts[0]!.count, exact])).toEqual([[78, true]]);
  // 56 over whole turns: 7, 8 and 14 leaves from 6 to 16.
  expect(warning!.answers.map(({ counts }) => counts[0]!.count).sort((a, b) => a - b)).toEqual([7, 8, 14]);
  // The fly is free: nothing tells.
  expect(fly!.answers).toEqual([]);
  expect(fly!.problem?.text).toBe("nothing says what the pinion of fly (strike) was");
});

test("the motion work's lost wheel comes from twelve to one", () => {
  const [result] = solveMissing(
    movementOf(`
trains: { time: { arbors: { centre: { wheel: 80, hand: minute }, escape: { pinion: 8, escape wheel: 30 } } } }
motion work: { cannon pinion: 12, minute wheel: 36, minute pinion: 10, hour wheel: ? }
`),
  );
  // Source of the other three: Goodrich 1905, ch. XVI.
  expect(result!.answers.map(({ counts }) => counts[0]!.count)).toEqual([40]);
});

test("three lost counts that hang together are not guessed at", () => {
  const [result] = solveMissing(movementOf(timeTrain([96, "?", "?"], [8, "?", 8], 30, "3600")));
  expect(result!.answers).toEqual([]);
  expect(result!.problem?.text).toMatch(/^3 counts that hang together are missing/);
});

test("when no whole number is right, the nearest are given and it is said", () => {
  const movement = movementOf(`
trains:
  time:
    arbors:
      centre: { wheel: 64, hand: minute }
      third: { pinion: 7, wheel: ? }
      escape: { pinion: 8, escape wheel: 30, hand: seconds }
`);
  const [result] = solveMissing(movement);
  // 60 turns an hour want 52 1/2 teeth.
  expect(result!.problem?.text).toBe(
    "no whole number meets everything: escape carries the seconds hand and turns 60 times an hour",
  );
  const [first, second] = result!.answers;
  expect([first!.counts[0]!.count, second!.counts[0]!.count].sort()).toEqual([52, 53]);
  expect(result!.answers.some(({ exact }) => exact)).toBe(false);
});

test("a known movement has nothing to solve", () => {
  const movement: Movement = movementOf(timeTrain([96, 60, 56], [8, 8, 7], 30, "3600"));
  expect(solveMissing(movement)).toEqual([]);
});

test("a blank whose old wheel was measured is turned to that size", () => {
  const [result] = solveMissing(
    movementOf(`trains:
  time:
    arbors:
      centre: { wheel: { teeth: ?, tip diameter: 50.4 ± 0.05 mm }, hand: minute }
      third: { pinion: { leaves: 8, tip diameter: 7.75 ± 0.05 mm }, wheel: 56, centre distance: 27.2 ± 0.1 mm }
`),
  );
  expect(result!.answers[0]!.blanks).toMatchObject([{ tipDiameterMm: { value: 50.4, u: 0.05 } }]);
});
