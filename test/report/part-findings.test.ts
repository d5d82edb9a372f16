import { expect, test } from "vitest";
import {
  measurementDocument,
  recordPhoto,
  software,
  type FindingRecord,
  type PartRecord,
} from "../../src/record/index.js";
import { groupParts } from "../../src/report/content/group-parts.js";
import { plainWords } from "../../src/report/content/content.js";
import { allFindings, findingsOf } from "../../src/report/content/urgency.js";
import { inventedPart, inventedPhoto, inventedView } from "../record/invented-part.js";

interface Seen {
  readonly file?: string;
  readonly probability?: number;
  readonly findings?: readonly FindingRecord[];
  /** The bore is hidden: no eccentricity. */
  readonly hidden?: true;
}

const fault = (code: string): FindingRecord => ({ code, severity: "fault", text: `${code} was found` });
const note = (code: string): FindingRecord => ({ code, severity: "note", text: `${code} was found` });

/** One part in several photographs. */
function groupOf(...seen: readonly Seen[]) {
  const photos = seen.map(({ file, probability = 0.998, findings = [], hidden }, i) => {
    const photo = inventedPhoto(file ?? `photos/${i + 1}.jpg`);
    const wheel = inventedPart({ id: "W1", label: "T2", count: 64, moduleMm: 0.7, centrePx: [2000, 1500] });
    const record = recordPhoto(photo, inventedView, [wheel], [], {});
    const { eccentricity_mm: e, ...rest } = record.parts[0]!;
    const part: PartRecord = {
      ...rest,
      ...(hidden || e === undefined ? {} : { eccentricity_mm: e }),
      teeth: { ...rest.teeth!, probability },
      findings: [...findings],
    };
    return { ...record, parts: [part] };
  });
  const statement = { identification: {}, condition: [], planned_work: [] };
  const [group] = groupParts({
    schema: "wheelsurvey/survey/1",
    made_at: "2025-03-02T09:30:00.000Z",
    software: software(),
    statement,
    measurement: measurementDocument(photos),
  });
  return group!;
}

test("what a photograph with a doubtful count shows is not believed beside a sure one", () => {
  expect(findingsOf(groupOf({}, { probability: 0.6, findings: [fault("short-teeth")] }))).toEqual([]);
  // Alone it is all there is.
  expect(findingsOf(groupOf({ probability: 0.6, findings: [fault("short-teeth")] }))).toMatchObject([
    { code: "short-teeth", severity: "fault" },
  ]);
});

test("what only one of two sure photographs shows is to be looked at, with the numbers of both", () => {
  expect(findingsOf(groupOf({}, { findings: [fault("short-teeth")] }))).toMatchObject([
    { severity: "watch", where: "Seen in photograph 2, not in 1: look at it by eye." },
  ]);
  const both = groupOf({ findings: [fault("short-teeth")] }, { findings: [fault("short-teeth")] });
  const [finding] = findingsOf(both);
  expect(finding).toMatchObject({ severity: "fault" });
  expect(finding!.where).toBeUndefined();
});

test("a photograph in which the bore is hidden does not speak against an eccentric wheel", () => {
  expect(findingsOf(groupOf({ hidden: true }, { findings: [fault("eccentric")] }))).toMatchObject([
    { severity: "fault", where: "Seen in photograph 2." },
  ]);
});

test("a bore that is seen in one photograph is not said to be hidden", () => {
  expect(findingsOf(groupOf({ findings: [note("bore-hidden")] }, {}))).toEqual([]);
  const hidden = groupOf({ findings: [note("bore-hidden")] }, { findings: [note("bore-hidden")] });
  expect(findingsOf(hidden)).toMatchObject([{ code: "bore-hidden" }]);
});

test("pins that glare hides in one photograph are no matter where another shows them", () => {
  const hidden = { code: "pins-unseen", severity: "watch" as const, text: "3 pin places are in glare" };
  expect(findingsOf(groupOf({}, { findings: [hidden] }))).toEqual([]);
  expect(findingsOf(groupOf({ findings: [hidden] }))).toMatchObject([{ code: "pins-unseen" }]);
});

test("once the work is done, what was before it counts no more", () => {
  const group = groupOf(
    { file: "photos/S3-before.jpg", findings: [fault("missing-teeth")] },
    { file: "photos/S3-after.jpg", probability: 0.96 },
  );
  expect(findingsOf(group)).toEqual([]);
  // The part is described as it is now, though the photograph before was the clearer one.
  expect(group.best.photo.file).toContain("after");
});

test("a note that several parts share is said once, a fault for each", () => {
  const wheel = (id: string, label: string, centrePx: readonly [number, number]) =>
    inventedPart({ id, label, count: 64, moduleMm: 0.7, centrePx });
  const parts = [wheel("W1", "T2", [1000, 1500]), wheel("W2", "T3", [3000, 1500])];
  const record = recordPhoto(inventedPhoto(), inventedView, parts, [], {});
  const findings = [note("bore-hidden"), fault("oval")];
  const photo = { ...record, parts: record.parts.map((part) => ({ ...part, findings })) };
  const survey = {
    schema: "wheelsurvey/survey/1" as const,
    made_at: "2025-03-02T09:30:00.000Z",
    software: software(),
    statement: { identification: {}, condition: [], planned_work: [] },
    measurement: measurementDocument([photo]),
  };
  const texts = allFindings(survey, groupParts(survey)).map(
    ({ severity, words }) => `${severity} ${plainWords(words)}`,
  );
  expect(texts).toEqual([
    "fault T2: Oval was found.",
    "fault T3: Oval was found.",
    "note T2, T3: Bore-hidden was found.",
  ]);
});
