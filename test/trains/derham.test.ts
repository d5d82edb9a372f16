import { expect, test } from "vitest";
import derham from "../reference/derham/trains.json" with { type: "json" };
import { evaluated } from "./evaluated.js";
import { strikeYaml, timeYaml } from "./train-yaml.js";

// Source: W. Derham, The Artificial Clock-maker, London 1696 (see reference/derham/SOURCE.md).

const chapterX = derham.timeTrains.filter((train) => "greatToCentre" in train);

test("holds the twelve trains of chapter X that go by the centre wheel", () => {
  expect(chapterX.length).toBe(12);
});

test.each(chapterX)("time train of Derham $section: $name", (train) => {
  const result = evaluated(
    timeYaml(train.greatToCentre!, train.centreToEscape!, train.escapeTeeth, train.turnsGiven),
  );
  const { time, winding } = result.trains[0]!;
  expect(time?.beatsPerHour?.value).toBe(train.beatsPerHour);
  expect(time?.hoursPerFirstTurn?.value).toBe(train.hoursPerGreatWheelTurn);
  expect(winding?.days?.value).toBeCloseTo(train.computedDays!, 10);
});

test("Derham's 'thirteen weeks' come to 88 days, and the result says so", () => {
  const trap = derham.timeTrains.find(({ name }) => name === "13 week, first")!;
  const yaml = timeYaml(trap.greatToCentre!, trap.centreToEscape!, 30, 16, "said to run: 13 weeks");
  const { findings } = evaluated(yaml);
  const finding = findings.find(({ code }) => code === "going-time-disagrees");
  expect(finding?.text).toBe("the time train is said to run 91 days, its counts give 88 days");
  expect(finding?.severity).toBe("watch");
});

test("the 32 day train raises no finding: it does run 32 days", () => {
  const train = derham.timeTrains.find(({ name }) => name === "32 day, 16 turns")!;
  const { findings } = evaluated(
    timeYaml(train.greatToCentre!, train.centreToEscape!, 30, 16, "said to run: 32 days"),
  );
  expect(findings).toEqual([]);
});

test("a great wheel that drives the hour wheel directly sets the rate (X.8, 30 hours, 9100 beats)", () => {
  const train = derham.timeTrains.find(({ section }) => section === "X 8")!;
  const yaml = `
trains:
  time:
    arbors:
      great: { wheel: ${train.train![0]![0]} }
      second: { pinion: ${train.train![0]![1]}, wheel: ${train.train![1]![0]} }
      third: { pinion: ${train.train![1]![1]}, wheel: ${train.train![2]![0]} }
      crown: { pinion: ${train.train![2]![1]}, escape wheel: ${train.escapeTeeth} }
motion work:
  on: great
  cannon pinion: ${train.pinionOfReport![0]}
  hour wheel: ${train.pinionOfReport![1]}
`;
  const { trains, motionWork } = evaluated(yaml);
  expect(trains[0]!.time?.beatsPerHour?.exact).toBe("9100");
  expect(trains[0]!.time?.hoursPerFirstTurn?.exact).toBe("3");
  expect(motionWork?.hourHandHours?.exact).toBe("12");
});

test.each(derham.strikeTrains)("strike train of Derham $section: $name", (train) => {
  const { trains, findings } = evaluated(strikeYaml(train));
  const { strike, winding } = trains[0]!;
  expect(strike?.blowsPerFirstTurn?.value).toBe(train.strokesPerGreatTurn);
  expect(strike?.blowsPerWinding?.value).toBe(train.totalStrokes);
  expect(strike?.blowsPerDay).toBe(156);
  expect(winding?.days?.value).toBeCloseTo(train.computedDays, 10);
  if (train.strokesPerCountWheelTurn !== null)
    expect(strike?.countWheel?.blowsPerTurn?.value).toBe(train.strokesPerCountWheelTurn);
  // Every one locks, and only the printed slip of 62/24 is found out.
  const codes = findings.map(({ code }) => code);
  expect(codes).toEqual(train.strokesPerCountWheelTurn === 77.5 ? ["count-wheel-wrong"] : []);
});

test("Derham's count wheel of 62 on 24 with 30 pins is half a blow short", () => {
  const { findings } = evaluated(
    strikeYaml(
      derham.strikeTrains.find(({ strokesPerCountWheelTurn }) => strokesPerCountWheelTurn === 77.5)!,
    ),
  );
  expect(findings[0]).toMatchObject({ code: "count-wheel-wrong", severity: "fault" });
  expect(findings[0]!.text).toContain("once in 77.5 (155/2) blows; 78 are struck in 12 hours");
});

test.each(derham.motionWork)("motion work of Derham $section", ({ pairs, ratio }) => {
  const [[first, second], [third, fourth]] = pairs as [[number, number], [number, number]];
  // Listed once as driver and driven (48:48, 6 leaves under 72), once as wheel and pinion (48 on 12, 36 on 12).
  const [cannon, minuteWheel] = first >= second ? [second, first] : [first, second];
  const { motionWork, findings } = evaluated(`
trains: { time: { arbors: { centre: { wheel: 60, hand: minute }, escape: { pinion: 6, escape wheel: 30 } } } }
motion work: { cannon pinion: ${cannon}, minute wheel: ${minuteWheel}, minute pinion: ${fourth}, hour wheel: ${third} }
`);
  expect(motionWork?.ratio?.value).toBe(ratio);
  expect(findings).toEqual([]);
});

test.each(
  derham.watchTrains.filter(
    (watch) => "hoursPerCentreTurn" in watch || "greatTrain" in watch || "greatWheel" in watch,
  ),
)("watch train of Derham: $name", (watch) => {
  const hours = watch.hoursPerCentreTurn ?? watch.hoursPerGreatTurn;
  const pairs = watch.greatTrain ?? [...(watch.hoursPerCentreTurn ? [] : [watch.greatWheel]), ...watch.train];
  // Beats of the whole train for one turn of the first arbor, over its hours.
  const arbors = pairs.map(
    ([wheel], i) => `a${i}: { ${i === 0 ? "" : `pinion: ${pairs[i - 1]![1]}, `}wheel: ${wheel} }`,
  );
  const yaml = `
balance: yes
beats per hour: ${watch.beatsPerHour}
trains:
  watch:
    arbors:
      ${[...arbors, `crown: { pinion: ${pairs.at(-1)![1]}, escape wheel: ${watch.escapeTeeth} }`].join("\n      ")}
`;
  const { time } = evaluated(yaml).trains[0]!;
  expect(time?.hoursPerFirstTurn?.value).toBe(hours);
  expect(time?.balance?.vibrationsPerSecond).toBeCloseTo(watch.beatsPerHour / 3600, 10);
  expect(time?.pendulum).toBeUndefined();
});
