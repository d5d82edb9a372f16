import { expect, test } from "vitest";
import derham from "../reference/derham/trains.json" with { type: "json" };
import { effectOfChange } from "../../src/trains/index.js";
import { codes, evaluated, movementOf } from "./evaluated.js";
import { normals } from "./normals.js";

/** 60/8, 56/7 and 30 teeth beat seconds (Derham 1696, X.2). */
const clock = (top: string, { centre = ", hand: minute", third = "56", escape = "" } = {}) => `${top}
trains:
  time:
    arbors:
      great: { wheel: 96 }
      middle: { pinion: 8, wheel: 60${centre} }
      third: { pinion: 8, wheel: ${third} }
      last: { pinion: 7, escape wheel: 30${escape} }
`;

test("a train without hands takes its rate from the beats, and names the arbor that turns once an hour", () => {
  const { trains, findings } = evaluated(clock("beats per hour: 3600", { centre: "" }));
  expect(trains[0]!.time).toMatchObject({
    reference: { kind: "beats per hour" },
    hourlyArbor: "middle",
    minutelyArbor: "last",
    hoursPerFirstTurn: { exact: "12" },
  });
  expect(findings).toEqual([]);
});

test("without hands and beats the seconds hand sets the rate", () => {
  const { trains } = evaluated(clock("", { centre: "", escape: ", hand: seconds" }));
  expect(trains[0]!.time?.beatsPerHour?.exact).toBe("3600");
  expect(trains[0]!.time?.reference).toEqual({ kind: "seconds hand", arbor: "last" });
});

test("an arbor called centre is taken for the minute arbor, and it is said that this is a guess", () => {
  const { trains, findings } = evaluated(clock("", { centre: "" }).replace("middle:", "centre:"));
  expect(trains[0]!.time?.beatsPerHour?.exact).toBe("3600");
  expect(findings).toMatchObject([{ code: "rate-assumed", severity: "note" }]);
});

test("when nothing says the rate, it is not invented", () => {
  const { trains, findings } = evaluated(clock("", { centre: "" }));
  expect(trains[0]!.time?.beatsPerHour).toBeUndefined();
  expect(trains[0]!.arbors[0]!.turnsPerHour).toBeUndefined();
  expect(findings).toMatchObject([{ code: "rate-unknown" }]);
  expect(findings[0]!.advice).toContain("hand: minute");
});

test("a lost great wheel hides the going time but not the beats", () => {
  const { trains, missing } = evaluated(clock("").replace("wheel: 96", "wheel: ?"));
  expect(trains[0]!.time?.beatsPerHour?.exact).toBe("3600");
  expect(trains[0]!.time?.hoursPerFirstTurn).toBeUndefined();
  expect(missing.map(({ position, line }) => [position, line])).toEqual([["time.great.wheel", 5]]);
});

test("a seconds hand that does not turn sixty times an hour is a fault on its line", () => {
  const { findings } = evaluated(clock("", { third: "55", escape: ", hand: seconds" }));
  // 60/8 x 55/7 = 58 13/14 turns.
  expect(findings).toMatchObject([
    { code: "seconds-hand-wrong", severity: "fault", line: 8, position: "time.last" },
  ]);
  expect(findings[0]!.text).toContain("58.929 (825/14)");
});

test("stated beats that the counts do not give: a fault with what the clock would do", () => {
  const { findings } = evaluated(clock("beats per hour: 3600", { third: "57" }));
  // 57/56 too many beats are wanted, so at 3600 the clock loses 1 in 57: 25.3 minutes a day.
  expect(findings).toMatchObject([{ code: "beats-disagree", severity: "fault", line: 1 }]);
  expect(findings[0]!.text).toContain("lose 25.3 minutes a day");
});

test("a pendulum of half a metre does not belong to a seconds train; one of 994 mm does", () => {
  expect(codes(evaluated(clock("pendulum: { length: 500 mm }")).findings)).toEqual(["pendulum-disagrees"]);
  expect(evaluated(clock("pendulum: { length: 994 mm }")).findings).toEqual([]);
  // A stated uncertainty narrows what passes: 1000 mm is 6.4 mm off.
  expect(evaluated(clock("pendulum: { length: 1000 mm }")).findings).toEqual([]);
  expect(codes(evaluated(clock("pendulum: { length: 1000 ± 1 mm }")).findings)).toEqual([
    "pendulum-disagrees",
  ]);
});

test("a pendulum that is given shows what the clock would gain with it", () => {
  const { trains } = evaluated(clock("pendulum: { length: 990 mm }"));
  // Rate goes with one over the root of the length; 993.6214 mm beats seconds at 9.80665 m/s².
  expect(trains[0]!.time?.pendulum?.given?.gainsSecondsPerDay.value).toBeCloseTo(
    86400 * (Math.sqrt(993.6214 / 990) - 1),
    1,
  );
});

test("the doubt of length, gravity and arc comes through to beats and rate (Monte Carlo)", () => {
  const measured =
    "place: { gravity: 9.81 ± 0.002 m/s2 }\npendulum: { length: 994 ± 2 mm, arc: 4 ± 0.5 deg }";
  const { given, lengthMm, lengthAtArcMm } = evaluated(clock(measured)).trains[0]!.time!.pendulum!;
  // Period 2 pi sqrt(L/g) (1 + a²/16 + 11 a⁴/3072): the usual series.
  const beatsOf = (length: number, g: number, arc: number) =>
    ((3600 / Math.PI) * Math.sqrt((1000 * g) / length)) / (1 + arc ** 2 / 16 + (11 * arc ** 4) / 3072);
  const normal = normals(2024);
  const degree = Math.PI / 180;
  const draws = Array.from({ length: 40_000 }, () =>
    beatsOf(994 + 2 * normal(), 9.81 + 0.002 * normal(), (4 + 0.5 * normal()) * degree),
  );
  const mean = draws.reduce((sum, x) => sum + x, 0) / draws.length;
  const u = Math.sqrt(draws.reduce((sum, x) => sum + (x - mean) ** 2, 0) / draws.length);
  expect(given!.beatsPerHour.value).toBeCloseTo(beatsOf(994, 9.81, 4 * degree), 4);
  // 40 000 draws leave 0.35 % of u; first order leaves less.
  expect(given!.beatsPerHour.u! / u).toBeGreaterThan(0.98);
  expect(given!.beatsPerHour.u! / u).toBeLessThan(1.02);
  expect(given!.gainsSecondsPerDay.u!).toBeCloseTo((86400 * given!.beatsPerHour.u!) / 3600, 9);
  // L = g t²/pi²: u(L)/L = u(g)/g; the arc adds a² / 8.
  expect(lengthMm.u! / lengthMm.value).toBeCloseTo(0.002 / 9.81, 9);
  const arcShare = ((4 * degree) / 4) * 0.5 * degree;
  expect(lengthAtArcMm!.u! / lengthAtArcMm!.value).toBeCloseTo(Math.hypot(0.002 / 9.81, arcShare), 6);
});

test("a length without ± is taken as one from a rule, and said to be", () => {
  const { given } = evaluated(clock("pendulum: { length: 990 mm }")).trains[0]!.time!.pendulum!;
  expect(given).toMatchObject({ lengthMm: { value: 990, u: 0.015 * 990 }, uncertaintyAssumed: true });
  const stated = evaluated(clock("pendulum: { length: 990 ± 1 mm }")).trains[0]!.time!.pendulum!.given!;
  expect(stated.lengthMm).toEqual({ value: 990, u: 1 });
  expect(stated.uncertaintyAssumed).toBeUndefined();
});

test("a balance has vibrations and no pendulum", () => {
  const { trains } = evaluated(clock("balance: yes"));
  expect(trains[0]!.time?.balance).toEqual({ vibrationsPerSecond: 1, hertz: 0.5 });
  expect(trains[0]!.time?.pendulum).toBeUndefined();
});

test("no arbor turns once an hour in Derham's watch without minutes, and it is said", () => {
  const watch = derham.watchTrains.find(({ name }) => name === "8 day watch, no minutes")!;
  const pairs = watch.greatTrain!;
  const { findings, trains } = evaluated(`
balance: yes
beats per hour: ${watch.beatsPerHour}
trains:
  watch:
    power: { turns: ${watch.turns} }
    arbors:
      great: { wheel: ${pairs[0]![0]} }
      second: { pinion: ${pairs[0]![1]}, wheel: ${pairs[1]![0]} }
      third: { pinion: ${pairs[1]![1]}, wheel: ${pairs[2]![0]} }
      fourth: { pinion: ${pairs[2]![1]}, wheel: ${pairs[3]![0]} }
      crown: { pinion: ${pairs[3]![1]}, escape wheel: ${watch.escapeTeeth} }
`);
  expect(trains[0]!.winding?.days?.value).toBe(watch.days);
  expect(codes(findings)).toEqual(["no-hourly-arbor"]);
});

// Source: Derham 1696: 26928 beats in a turn of the fusee, 20196 in an hour: sixteen hours take twelve turns.
test("Derham's fusee rule", () => {
  const { beatsPerFuseeTurn, beatsPerHour, hours, turns } = derham.fuseeRules[0]!;
  // A train made up to give it: 72/6 x 66/6 x 36/6 = 792 turns of the crown wheel, 17 teeth, two beats each.
  const { trains } = evaluated(`
beats per hour: ${beatsPerHour}
balance: yes
trains:
  watch:
    power: { turns: ${turns} }
    arbors:
      fusee: { wheel: 72 }
      second: { pinion: 6, wheel: 66 }
      third: { pinion: 6, wheel: 36 }
      crown: { pinion: 6, escape wheel: ${beatsPerFuseeTurn / 2 / 792} }
`);
  expect(trains[0]!.time?.beatsPerHour?.exact).toBe(String(beatsPerHour));
  expect(trains[0]!.winding?.hours?.value).toBeCloseTo(hours, 10);
});

test("an idler changes the speed of no other arbor", () => {
  const plain = evaluated(clock(""));
  const idle = evaluated(
    clock("").replace("      third:", "      idle: { wheel: 45, idler: yes }\n      third:"),
  );
  expect(
    idle.trains[0]!.arbors.filter(({ name }) => name !== "idle").map(({ turnsPerHour }) => turnsPerHour),
  ).toEqual(plain.trains[0]!.arbors.map(({ turnsPerHour }) => turnsPerHour));
});

test("a changed third wheel changes beats by the same factor and no going time", () => {
  const { trains } = effectOfChange(
    movementOf(clock("").replace("    arbors:", "    power: { turns: 16 }\n    arbors:")),
    [{ position: "time.third.wheel", count: 63 }],
  );
  expect(trains[0]!.beatsFactor).toBeCloseTo(63 / 56, 12);
  expect(trains[0]!.goingTimeFactor).toBe(1);
});

const pair = (wheelTip: string, pinionTip: string, distance: string) => `
trains:
  time:
    arbors:
      centre: { wheel: { teeth: 80, tip diameter: ${wheelTip} }, hand: minute }
      third: { pinion: { leaves: 8, tip diameter: ${pinionTip} }, wheel: 72, centre distance: ${distance} }
      escape: { pinion: 8, escape wheel: 40 }
`;

test("sizes of a pair: module by tip diameter, centre distance from the module", () => {
  // Module 1 mm by the rules of thumb: 80 + 2.76 and 8 + 1.71 mm; centre distance 44 mm.
  const { meshes, findings } = evaluated(pair("82.76 ± 0.02 mm", "9.71 ± 0.02 mm", "44 ± 0.05 mm"));
  expect(meshes[0]!.driverModuleMm!.value).toBeCloseTo(1, 9);
  expect(meshes[0]!.drivenModuleMm!.value).toBeCloseTo(1, 9);
  expect(meshes[0]!.centreDistanceWantedMm!.value).toBeCloseTo(44, 9);
  // The addendum is known to 0.1 modules (common practice): that alone is 0.2/82.76 of the module.
  expect(meshes[0]!.driverModuleMm!.u).toBeGreaterThan(0.2 / 82.76);
  expect(findings).toEqual([]);
});

test("a wheel that does not mate, and a depth that is wrong, are named", () => {
  expect(codes(evaluated(pair("82.76 mm", "11.4 mm", "44 mm")).findings)).toEqual(["mates-differ"]);
  const deep = evaluated(pair("82.76 mm", "9.71 mm", "43 ± 0.05 mm")).findings;
  expect(codes(deep)).toEqual(["depth-wrong"]);
  expect(deep[0]!.text).toContain("the depth is deep");
});

// Source: Encyclopaedia Britannica, 11th ed. (1911), vol. 6, Clock: great wheel 96 into 8, one turn in 12 hours; the
// strike's great wheel of 78 gives 78 blows a turn, of which a day has 156.
test("the great wheels make two turns a day", () => {
  const { trains } = evaluated(`trains:
  time:
    power: { turns: 16 }
    arbors:
      great: { wheel: 96 }
      centre: { pinion: 8, wheel: 64, hand: minute }
  strike:
    power: { turns: 16 }
    arbors:
      great: { wheel: 78, count wheel: yes }
      pin wheel: { pinion: 8, wheel: 56, pins: 8 }
`);
  expect(trains.map(({ winding }) => winding?.turnsPerDay?.exact)).toEqual(["2", "2"]);
});

// Source: Encyclopaedia Britannica, 11th ed. (1911), vol. 6, Clock: 96, 64, 60 and 30 with pinions of 8 beat seconds.
test("where no hand is marked, the pendulum says which arbor turns once an hour", () => {
  const train = (length: string) => `pendulum: { length: ${length} }
trains:
  time:
    arbors:
      great: { wheel: 96 }
      second: { pinion: 8, wheel: 64 }
      third: { pinion: 8, wheel: 60 }
      escape: { pinion: 8, escape wheel: 30 }
`;
  const advice = (length: string) =>
    evaluated(train(length)).findings.find(({ code }) => code === "rate-unknown")?.advice;
  expect(advice("994 ± 5 mm")).toMatch(/second turns once in about 60\.0 minutes/);
  // A half-seconds pendulum: no arbor comes near.
  expect(advice("248 ± 2 mm")).toMatch(/mark the arbor that carries the minute hand/);
});
