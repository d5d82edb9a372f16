import { expect, test } from "vitest";
import type { SurveyedPart } from "../../src/trains/index.js";
import {
  draftMovement,
  evaluateMovement,
  evidenceFromSurvey,
  placeEvidence,
  solveMissing,
  weighCounts,
} from "../../src/trains/index.js";
import { movementOf } from "./evaluated.js";

const part = (
  label: string,
  kind: string,
  count: number,
  probability = 1,
  more: Partial<SurveyedPart> = {},
): SurveyedPart => ({
  label,
  kind,
  teeth: {
    count,
    probability,
    alternatives: probability < 1 ? [{ count: count + 1, probability: 1 - probability }] : [],
  },
  ...more,
});

// An invented clock: 96/8, 60/8, 56/7, 30 teeth; 78/8 with 8 pins.
const parts: readonly SurveyedPart[] = [
  part("T1", "wheel", 96),
  part("T2", "pinion", 8),
  part("T2", "wheel", 60, 1, { tip_diameter_mm: { value: 50.2, u: 0.03 } }),
  part("T3", "wheel", 56, 0.7),
  part("T4", "pinion", 7),
  part("T4", "escape-wheel", 30),
  part("S1", "count-wheel", 78),
  part("S2", "wheel", 64, 1, { pins: { count: 8 } }),
  part("S2", "pinion", 8),
  part("M1", "wheel", 40),
  part("M2", "wheel", 40),
  part("M2", "pinion", 6),
  part("M3", "wheel", 72),
  { label: "P1", kind: "plate" },
  { kind: "wheel", teeth: { count: 12, probability: 1, alternatives: [] } },
  { label: "T9", kind: "wheel" },
];

test("labels put every counted part into its train; plates, unlabelled and uncounted ones stay out", () => {
  const evidence = evidenceFromSurvey(parts);
  expect(evidence.map(({ position, kind }) => `${position} ${kind}`).sort()).toEqual(
    ["M1 wheel", "M2 pinion", "M2 wheel", "M3 wheel", "S1 wheel", "S2 pinion", "S2 wheel"].concat([
      ...["T1 wheel", "T2 pinion", "T2 wheel", "T3 wheel", "T4 pinion", "T4 wheel"],
    ]),
  );
  expect(evidence.find(({ position, kind }) => position === "T2" && kind === "wheel")?.tipDiameterMm).toEqual(
    {
      value: 50.2,
      u: 0.03,
    },
  );
});

test("a movement file made from photographs reads again, with ? where a gear was not seen", () => {
  const movement = movementOf(draftMovement(parts));
  const [time, strike] = movement.trains;
  expect(time!.arbors.map(({ wheel, escape }) => (escape?.gear ?? wheel)?.teeth)).toEqual([96, 60, 56, 30]);
  expect(time!.arbors.map(({ pinion }) => pinion?.teeth)).toEqual([undefined, 8, "missing", 7]);
  expect(strike!.arbors[0]!.countWheel).toBeDefined();
  expect(strike!.arbors[1]!.pins?.count).toBe(8);
  expect(movement.motionWork?.hourWheel.teeth).toBe(72);
  expect(evaluateMovement(movement).missing.map(({ position }) => position)).toEqual(["time.third.pinion"]);
});

test("the draft goes on to an answer once a person adds the minute hand and the beats", () => {
  const yaml = `beats per hour: 3600\n${draftMovement(parts)}`.replace(
    "second: { pinion: 8,",
    "second: { hand: minute, pinion: 8,",
  );
  const movement = movementOf(yaml);
  const [missing] = solveMissing(movement);
  expect(missing!.answers[0]!.counts).toEqual([{ position: "time.third.pinion", count: 8 }]);
  expect(weighCounts(movement).counts.find(({ position }) => position === "time.third.wheel")?.count).toBe(
    56,
  );
});

test("photographs of one gear are averaged, and the surest size is kept", () => {
  const [one] = evidenceFromSurvey([
    part("T3", "wheel", 56, 0.8, { tip_diameter_mm: { value: 40.0, u: 0.2 } }),
    part("T3", "wheel", 57, 0.6, { tip_diameter_mm: { value: 40.3, u: 0.05 } }),
  ]);
  // 56: 0.8 / 2; 57: (0.2 + 0.6) / 2; 58: 0.4 / 2.
  expect(
    one!.alternatives.map(({ count, probability }) => [count, Number(probability.toFixed(6))]).sort(),
  ).toEqual([
    [56, 0.4],
    [57, 0.4],
    [58, 0.2],
  ]);
  expect(one!.tipDiameterMm).toEqual({ value: 40.3, u: 0.05 });
});

test("hostile labels do not become YAML", () => {
  const draft = draftMovement([
    part("T1: {evil", "wheel", 60),
    part("T1\n  x: 1", "wheel", 61),
    part("T99", "wheel", 62),
  ]);
  expect(draft).not.toContain("evil");
  expect(draft).not.toMatch(/6[012]/);
  movementOf(draft);
});

test("no labelled part at all still gives a file to fill in", () => {
  movementOf(draftMovement([]));
});

const strike = (pins: string, countWheel: string) => `trains:
  strike:
    strikes: hours
    arbors:
      great: { wheel: 78, ${countWheel} }
      pin wheel: { pinion: 8, wheel: 64${pins} }
`;

test("pins that a photograph shows fill an open place, and are held against a written one", () => {
  const evidence = evidenceFromSurvey(parts);
  const result = (yaml: string) =>
    evaluateMovement(placeEvidence(movementOf(yaml), evidence).movement).trains[0]!;
  // 78/8 turns of the pin wheel, 8 pins: 78 blows a turn of the great wheel.
  expect(result(strike("", "count wheel: yes")).strike?.blowsPerFirstTurn?.exact).toBe("78");
  const { movement } = placeEvidence(movementOf(strike(", pins: 10", "count wheel: yes")), evidence);
  const differing = evaluateMovement(movement).findings.find(({ code }) => code === "pins-differ");
  expect(differing).toMatchObject({ severity: "watch", line: 6, position: "strike.pin wheel" });
  expect(differing?.text).toContain("10 lifting pins, a photograph shows 8");
  const same = placeEvidence(movementOf(strike(", pins: 8", "count wheel: yes")), evidence).movement;
  expect(evaluateMovement(same).findings.map(({ code }) => code)).not.toContain("pins-differ");
});

test("notches of a photographed count wheel are held against what is struck", () => {
  const hours = Array.from({ length: 12 }, (_, i) => i + 1);
  const seen = (blows: readonly number[], probability = 0.99): SurveyedPart[] => [
    {
      label: "S1",
      kind: "count-wheel",
      // Its notches are counted like teeth; they are none.
      teeth: { count: blows.length, probability: 1, alternatives: [] },
      notches: { notches: blows, blows, probability },
    },
    part("S2", "wheel", 64, 1, { pins: { count: 8 } }),
  ];
  const codes = (photographed: readonly SurveyedPart[]) =>
    evaluateMovement(
      placeEvidence(movementOf(strike("", "count wheel: yes")), evidenceFromSurvey(photographed)).movement,
    ).findings.map(({ code }) => code);
  expect(codes(seen(hours))).toEqual([]);
  // Two notches gone: 5 and 6 run on as 11, and the order is broken; without the 12 only 66 are struck.
  expect(codes(seen([1, 2, 3, 4, 11, 7, 8, 9, 10, 11, 12]))).toEqual(["notches-out-of-order"]);
  expect(codes(seen(hours.slice(0, 11)))).toEqual(["notches-wrong"]);
  // A reading that is not sure says nothing.
  expect(codes(seen(hours.slice(0, 11), 0.6))).toEqual([]);
});
