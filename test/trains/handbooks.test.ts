import { expect, test } from "vitest";
import britannica from "../reference/britannica/clock.json" with { type: "json" };
import goodrich from "../reference/goodrich/trains.json" with { type: "json" };
import { codes, evaluated } from "./evaluated.js";
import { timeYaml } from "./train-yaml.js";

// Source: Encyclopaedia Britannica, 11th ed., vol. 6 (1911), Clock; see reference/britannica/SOURCE.md.
test("the eight-day clock of the Britannica beats seconds and goes eight days", () => {
  const { greatToCentre, centreToEscape, escapeTeeth, beatsPerHour, barrelTurns, days } = britannica.time;
  const { trains, findings } = evaluated(timeYaml(greatToCentre, centreToEscape, escapeTeeth, barrelTurns));
  expect(trains[0]!.time?.beatsPerHour?.exact).toBe(String(beatsPerHour));
  expect(trains[0]!.winding?.days?.value).toBe(days);
  // "Escape wheel turning once a minute", "centre wheel once in an hour".
  expect(trains[0]!.time?.escapeTurnS).toBe(60);
  expect(trains[0]!.time?.minutelyArbor).toBe("escape");
  expect(trains[0]!.time?.hourlyArbor).toBe("a1");
  expect(findings).toEqual([]);
});

test("its strike: great wheel 78, pinion 8, 8 pins, once round in twelve hours, wheels home after each blow", () => {
  const [[wheel, pinion]] = britannica.strike.greatToPinWheel as [[number, number]];
  const { trains, findings } = evaluated(`
trains:
  strike:
    power: { turns: ${britannica.time.barrelTurns} }
    arbors:
      great: { wheel: ${wheel}, count wheel: yes }
      pin wheel: { pinion: ${pinion}, wheel: 64, pins: ${britannica.strike.pins} }
      next: { pinion: 8, wheel: 56, locks: 1 }
      warning: { pinion: 7, wheel: 48, warning: 1 }
      fly: { pinion: 6, fly: yes }
`);
  const { strike, arbors, winding } = trains[0]!;
  expect(strike?.blowsPerFirstTurn?.exact).toBe(String(britannica.strike.blowsPerGreatTurn));
  expect(strike?.countWheel?.blowsWanted.exact).toBe(String(britannica.countWheel.hours));
  // "The pin wheel turns the next arbor once a blow, that one the warning arbor a whole number of times."
  expect(arbors.map(({ turnsPerBlow }) => turnsPerBlow?.exact)).toEqual(["1/78", "1/8", "1", "8", "64"]);
  expect(winding?.days?.value).toBe(britannica.time.days);
  expect(findings).toEqual([]);
});

test.each([
  ["hours", britannica.countWheel.hours],
  ["hours and halves", britannica.countWheel.hoursAndHalves],
  ["hours and most halves", britannica.countWheel.withoutHalfPastTwelveAndOne],
])("strikes %s: %d divisions of the count wheel", (strikes, divisions) => {
  const { trains } = evaluated(
    `trains: { strike: { strikes: ${strikes}, arbors: { great: { wheel: 78, pins: 8, count wheel: yes } } } }`,
  );
  expect(trains[0]!.strike?.countWheel?.blowsWanted.value).toBe(divisions);
  expect(trains[0]!.strike?.blowsPerDay).toBe(2 * divisions);
});

test("a count wheel for hours on a train that strikes the halves too is 12 blows out", () => {
  const { findings } = evaluated(`
trains:
  strike:
    strikes: hours and halves
    arbors:
      great: { wheel: 78, count wheel: yes }
      pin wheel: { pinion: 8, wheel: 64, pins: 8 }
`);
  expect(codes(findings)).toEqual(["count-wheel-wrong"]);
  expect(findings[0]!.text).toContain(
    "once in 78 blows; 90 are struck in 12 hours, so it runs ahead by 12 blows",
  );
});

// Source: W. L. Goodrich, The Modern Clock (1905), ch. XV and XVI; see reference/goodrich/SOURCE.md.
test("Goodrich's centre 80/10 and third 75/10 make 60", () => {
  const { centreToEscape, ratio } = goodrich.time;
  const { trains } = evaluated(
    timeYaml([], centreToEscape, 30).replace("a0: { wheel: 80 }", "a0: { wheel: 80, hand: minute }"),
  );
  expect(trains[0]!.arbors.at(-1)!.turnsPerHour?.value).toBe(ratio);
});

test("Goodrich's motion work of 12, 36, 10, 40 is 12 to 1, and shows that its pairs have two modules", () => {
  const { cannonPinion, minuteWheel, minutePinion, hourWheel, ratio } = goodrich.motionWork;
  const { motionWork, findings } = evaluated(`
trains: { time: { arbors: { centre: { wheel: 80, hand: minute }, escape: { pinion: 8, escape wheel: 30 } } } }
motion work: { cannon pinion: ${cannonPinion}, minute wheel: ${minuteWheel}, minute pinion: ${minutePinion}, hour wheel: ${hourWheel} }
`);
  expect(motionWork?.ratio?.value).toBe(ratio);
  // (12 + 36) / (10 + 40): both pairs have the same two arbors.
  expect(motionWork?.moduleRatio?.exact).toBe("24/25");
  expect(findings).toEqual([]);
});

test("a motion work that is 13 to 1 is a fault that names its line", () => {
  const { findings } =
    evaluated(`trains: { time: { arbors: { centre: { wheel: 80, hand: minute }, escape: { pinion: 8, escape wheel: 30 } } } }
motion work: { cannon pinion: 12, minute wheel: 39, minute pinion: 10, hour wheel: 40 }`);
  expect(findings).toMatchObject([{ code: "motion-work-wrong", severity: "fault", line: 2 }]);
  expect(findings[0]!.text).toBe("the hour hand would go round in 13 hours, not 12");
});

test("a 24 hour dial wants 24 to 1", () => {
  const yaml = (dial: string) => `
trains: { time: { arbors: { centre: { wheel: 80, hand: minute }, escape: { pinion: 8, escape wheel: 30 } } } }
motion work: { ${dial}cannon pinion: 12, minute wheel: 48, minute pinion: 12, hour wheel: 72 }`;
  expect(evaluated(yaml("dial: 24, ")).findings).toEqual([]);
  expect(codes(evaluated(yaml("")).findings)).toEqual(["motion-work-wrong"]);
});
