import { expect, test } from "vitest";
import { effectOfChange, notchAnglesRad } from "../../src/trains/index.js";
import { codes, evaluated, movementOf } from "./evaluated.js";

const twoPins = `
trains:
  strike:
    power: { turns: 16 }
    blow interval: 2 s
    arbors:
      great: { wheel: 78 }
      pin wheel: { pinion: 8, wheel: 48, pins: 2 }
      hoop: { pinion: 8, wheel: 48, locks: 3 }
      warning: { pinion: 8, wheel: 48, warning: 1 }
      fly: { pinion: 6, fly: yes }
`;

// Common practice, no source; closed form: a third of a turn a blow instead of half of one.
test("three lifting pins instead of two strike half as long again on the same winding", () => {
  const { trains } = effectOfChange(movementOf(twoPins), [{ position: "strike.pin wheel.pins", count: 3 }]);
  expect(trains[0]).toMatchObject({ name: "strike", blowsFactor: 1.5, goingTimeFactor: 1.5 });
});

test("it also says what the third pin puts out of step", () => {
  const { newFindings, goneFindings } = effectOfChange(movementOf(twoPins), [
    { position: "strike.pin wheel.pins", count: 4 },
  ]);
  // Two pins: hoop 3 turns a blow, warning 18. Four: hoop 1 1/2 (3 locks: 4.5), warning 9.
  expect(codes(newFindings)).toEqual(["locking-not-home"]);
  expect(goneFindings).toEqual([]);
});

test("a change of no part of the movement is refused with the nearest one", () => {
  expect(() => effectOfChange(movementOf(twoPins), [{ position: "strike.pin wheel.pns", count: 3 }])).toThrow(
    /did you mean "strike\.pin wheel\.pins"\?/,
  );
});

test("the fly's turns a minute follow from the time between blows", () => {
  // 2 pins: half a turn of the pin wheel a blow; x 6 x 6 x 8 = 144 turns of the fly in 2 s.
  expect(evaluated(twoPins).trains[0]!.strike?.fly).toMatchObject({
    turnsPerBlow: { exact: "144" },
    turnsPerMinute: { value: 4320 },
  });
  // Twelve blows at 2 s.
  expect(evaluated(twoPins).trains[0]!.strike?.longestRunS).toEqual({ value: 24 });
});

test("a warning wheel that is not home after a blow is named", () => {
  const { findings } = evaluated(twoPins.replace("warning: { pinion: 8", "warning: { pinion: 7"));
  expect(findings).toMatchObject([
    { code: "warning-not-home", severity: "fault", line: 10, position: "strike.warning" },
  ]);
});

// Cumulative blows 1 3 6 ... 78 over 78 of a turn (Encyclopaedia Britannica: 78 divisions).
test("notches of a count wheel stand at the cumulative blows", () => {
  const hours = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12];
  const degrees = notchAnglesRad(hours).map((angle) => Number(((angle * 180) / Math.PI).toFixed(4)));
  expect(degrees).toEqual([
    4.6154, 13.8462, 27.6923, 46.1538, 69.2308, 96.9231, 129.2308, 166.1538, 207.6923, 253.8462, 304.6154,
    360,
  ]);
});

const counted = (blows: string) => `
trains:
  strike:
    arbors:
      great: { wheel: 78, count wheel: { once in: 12 h, blows: ${blows} } }
      pin wheel: { pinion: 8, pins: 8 }
`;

test.each([
  ["[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]", []],
  ["[5, 6, 7, 8, 9, 10, 11, 12, 1, 2, 3, 4]", []],
  ["[1, 3, 2, 4, 5, 6, 7, 8, 9, 10, 11, 12]", ["notches-out-of-order"]],
  ["[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 11]", ["notches-wrong"]],
])("a count wheel with runs %s", (blows, expected) => {
  expect(codes(evaluated(counted(blows)).findings)).toEqual(expected);
});

test("quarters are 240 blows a day, ten on a count wheel that turns once an hour", () => {
  const { trains, findings } = evaluated(`
trains:
  quarters:
    does: strike
    strikes: quarters
    arbors:
      great: { wheel: 96 }
      second: { pinion: 8, wheel: 60, count wheel: { once in: 1 h, blows: [1, 2, 3, 4] } }
      pin wheel: { pinion: 12, pins: 2 }
`);
  expect(trains[0]!.strike?.blowsPerDay).toBe(240);
  expect(trains[0]!.strike?.countWheel).toMatchObject({
    blowsPerTurn: { exact: "10" },
    blowsWanted: { exact: "10" },
  });
  expect(findings).toEqual([]);
});

test("a chime barrel of five phrases turns twice an hour when ten are played", () => {
  const yaml = (driver: number) => `
trains:
  chime:
    arbors:
      great: { wheel: 96 }
      second: { pinion: 8, wheel: 80, count wheel: yes }
      barrel: { driven by: second, driver: ${driver}, wheel: 24, chime barrel: { phrases: 5 } }
`;
  const good = evaluated(yaml(48));
  expect(good.trains[0]!.strike?.chimeBarrel).toEqual({
    arbor: "barrel",
    turnsPerHour: { exact: "2", value: 2 },
  });
  expect(good.findings).toEqual([]);
  expect(codes(evaluated(yaml(47)).findings)).toEqual(["count-wheel-wrong"]);
});

test("a train called quarters with lifting pins counts ten blows an hour without being told", () => {
  const { trains, findings } = evaluated(`
trains:
  quarters:
    arbors:
      great: { wheel: 96 }
      second: { pinion: 8, wheel: 60, count wheel: { blows: [1, 2, 3, 4] } }
      pin wheel: { pinion: 12, pins: 2 }
`);
  expect(trains[0]!.strike).toMatchObject({ unit: "blow", blowsPerDay: 240 });
  expect(findings).toEqual([]);
});

const rack = (low: string) => `
trains:
  strike:
    rack: { teeth: 14, radius: 40 mm, tooth pitch: 1.6 mm, tail: 30 mm, snail high: 20 mm, snail low: ${low} }
    arbors:
      great: { wheel: 78 }
      pin wheel: { pinion: 8, wheel: 64, pins: 8 }
      gathering: { pinion: 8, gathers: 1 }
`;

test("a snail's steps must move the rack by a tooth each", () => {
  // Step wanted: 1.6 x 30 / 40 = 1.2 mm; eleven of them from 20 mm down to 6.8 mm.
  const good = evaluated(rack("6.8 mm"));
  expect(good.trains[0]!.strike?.rack?.snailStepWantedMm?.value).toBeCloseTo(1.2, 12);
  expect(good.trains[0]!.strike?.rack?.snailStepMm?.value).toBeCloseTo(1.2, 12);
  expect(good.findings).toEqual([]);
  // 7.64 mm: steps of 1.1236 mm are 0.7 of a tooth short at the last.
  const bad = evaluated(rack("7.64 mm"));
  expect(bad.findings).toMatchObject([{ code: "snail-steps-wrong", severity: "fault" }]);
  expect(bad.findings[0]!.text).toContain("0.7 of a tooth wrong at the last step");
});

test("a gathering pallet that takes two teeth a blow, and a rack too short for its snail, are faults", () => {
  const { findings } = evaluated(
    rack("6.8 mm").replace("gathers: 1", "gathers: 2").replace("teeth: 14", "teeth: 10"),
  );
  expect(codes(findings)).toEqual(["gathering-wrong", "rack-too-short"]);
});

test("a strike that falls silent before the clock stops is a watch, one that lasts longer a note", () => {
  const yaml = (turns: number) => `
trains:
  time:
    power: { turns: 16 }
    arbors: { great: { wheel: 96 }, centre: { pinion: 8, wheel: 64, hand: minute }, escape: { pinion: 8, escape wheel: 30 } }
  strike:
    power: { turns: ${turns} }
    arbors: { great: { wheel: 78 }, pin wheel: { pinion: 8, pins: 8 } }
`;
  expect(evaluated(yaml(12)).findings).toMatchObject([{ code: "strike-shorter", severity: "watch" }]);
  expect(evaluated(yaml(16)).findings).toEqual([]);
  expect(evaluated(yaml(20)).findings).toMatchObject([{ code: "strike-longer", severity: "note" }]);
});
