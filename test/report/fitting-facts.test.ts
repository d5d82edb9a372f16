import { expect, test } from "vitest";
import { measurementDocument, recordPhoto, software, type PartRecord } from "../../src/record/index.js";
import { fittingFacts } from "../../src/report/content/fitting-facts.js";
import { countText } from "../../src/report/part-words.js";
import { quantitiesOf } from "../../src/report/content/quantities.js";
import { surveyCsv } from "../../src/report/index.js";
import { inventedPart, inventedPhoto, inventedView } from "../record/invented-part.js";

const wheel = inventedPart({ id: "W1", label: "S2", count: 64, moduleMm: 0.7, centrePx: [2000, 1500] });
const photo = recordPhoto(inventedPhoto(), inventedView, [wheel], [], {});
const plain = photo.parts[0]!;
const withPins: PartRecord = {
  ...plain,
  pins: {
    count: 8,
    circle_diameter_mm: { value: 30.02, u: 0.03 },
    pin_diameter_mm: { value: 1.2, u: 0.05 },
    places: [
      { angle_deg: 45, state: "whole" },
      { angle_deg: 90, state: "missing" },
      { angle_deg: 135, state: "off", off_mm: 0.4 },
    ],
  },
};
// Cumulative blows of a count wheel for the hours: 78 in a turn (Encyclopaedia Britannica, 11th ed., Clock).
const countWheel: PartRecord = {
  ...plain,
  kind: "count-wheel",
  notches: {
    notches: Array.from({ length: 11 }, (_, i) => ({ angle_deg: 30 * i, state: "whole" as const })),
    blows_per_turn: 78,
    blows: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12],
    order: "clockwise",
    sequence: "hours",
    missing: [{ angle_deg: 12.5, after_blows: 3 }],
    extra: [],
    probability: 0.98,
  },
};

test("lifting pins are counted, and those that are missing or bent have their place", () => {
  expect(fittingFacts(withPins)).toEqual([
    { term: "Lifting pins", words: "8; missing at 90.0°; out of its place at 135.0°" },
  ]);
  expect(quantitiesOf(withPins).map(({ name }) => name)).toEqual(
    expect.arrayContaining(["Circle of the lifting pins", "Diameter of a lifting pin"]),
  );
  expect(fittingFacts(plain)).toEqual([]);
});

test("a count wheel says what it strikes, in order, and how sure that is", () => {
  expect(fittingFacts(countWheel)).toEqual([
    { term: "Notches", words: "11, for 78 blows a turn; missing at 12.5°" },
    {
      term: "Blows from notch to notch",
      words: "1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12: hours, clockwise; probability 0.980",
    },
  ]);
  expect(fittingFacts({ ...plain, kind: "escape-wheel", rake: "clockwise" })).toEqual([
    { term: "Teeth point", words: "clockwise, as seen in the photograph" },
  ]);
});

test("the CSV holds pins and notches as the document does", () => {
  const csv = surveyCsv({
    schema: "wheelsurvey/survey/1",
    made_at: "2025-03-02T09:30:00.000Z",
    software: software(),
    statement: { identification: {}, condition: [], planned_work: [] },
    measurement: measurementDocument([{ ...photo, parts: [withPins, countWheel] }]),
  });
  expect(csv).toMatch(/,lifting pins,8,/);
  expect(csv).toMatch(/,circle of the lifting pins,30\.02,mm,0\.03,0\.06,/);
  expect(csv).toMatch(/,blows per turn,78,,,,0\.98/);
});

test("a count wheel is said to have notches, a wheel teeth", () => {
  const { teeth, notches } = countWheel;
  const counted: PartRecord = { ...countWheel, teeth: { ...teeth!, count: notches!.notches.length } };
  expect(countText(counted)).toBe("11 notches");
  expect(countText(withPins)).toBe("64 teeth");
});
