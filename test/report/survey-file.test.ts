import { expect, test } from "vitest";
import { readSurveyFile } from "../../src/record/index.js";

test("reads what people write, in any case and with spaces, hyphens or underscores", () => {
  const file = readSurveyFile(`
Title: A movement
Examined-on: 2025-03-01
owner: { name: Somebody, contact: "1 Some Street" }
examiner: Only A Name
identification:
  Type of object: clock movement
  date_or_period: 1780
scale: { across: 149.7 mm, along: 150.15, measured with: calipers }
face heights: { all: 1.5 mm, t2: 2 mm }
planned work: [let down the springs]
condition:
  - old solder
  - { part: T2, text: two teeth gone }
trains: movement.yaml
units: mm and inches
`);
  expect(file.statement).toEqual({
    title: "A movement",
    examined_on: "2025-03-01",
    owner: { name: "Somebody", contact: "1 Some Street" },
    examiner: { name: "Only A Name" },
    identification: { type_of_object: "clock movement", date_or_period: "1780" },
    condition: [{ text: "old solder" }, { part: "T2", text: "two teeth gone" }],
    planned_work: ["let down the springs"],
    scale_measured_with: "calipers",
  });
  expect(file.settings).toEqual({
    matAcrossMm: 149.7,
    matAlongMm: 150.15,
    faceHeights: [{ heightMm: 1.5 }, { label: "T2", heightMm: 2 }],
  });
  expect([file.trains, file.inches]).toEqual(["movement.yaml", true]);
});

test("an empty file says nothing", () => {
  expect(readSurveyFile("").statement).toEqual({ identification: {}, condition: [], planned_work: [] });
  expect(readSurveyFile("").settings).toEqual({});
});

test("says in which line something is wrong, and what was expected", () => {
  expect(() => readSurveyFile("title: x\nowmer: y\n")).toThrow(/line 1: "owmer" is not known here/);
  expect(() => readSurveyFile("title: x\nscale:\n  across: wide\n")).toThrow(
    /line 3: scale > across: expected a length in mm like "149\.7 mm", found "wide"/,
  );
  expect(() => readSurveyFile("title: a: b\n")).toThrow(/line 1: this cannot be read as YAML/);
  expect(() => readSurveyFile("- a\n- b\n")).toThrow(/survey\.yaml/);
  expect(() => readSurveyFile("paper: a5\n")).toThrow(/line 1: paper/);
});

test("hostile YAML is refused: references, endless files, deep nesting", () => {
  expect(() => readSurveyFile("a: &x [1]\ntitle: *x\n")).toThrow(/& and \* marks are not used/);
  expect(() => readSurveyFile(`title: ${"x".repeat(300_000)}`)).toThrow(/over 256 kB/);
  const deep = `${"a: { ".repeat(50)}b: 1${" }".repeat(50)}`;
  expect(() => readSurveyFile(deep)).toThrow(/nested deeper/);
  expect(() => readSurveyFile("__proto__: { title: x }\n")).toThrow(/not known here/);
  expect(({} as { title?: string }).title).toBeUndefined();
});
