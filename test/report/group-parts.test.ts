import { expect, test } from "vitest";
import { measurementDocument, recordPhoto, software } from "../../src/record/index.js";
import { groupName, groupParts } from "../../src/report/content/group-parts.js";
import { inventedPart, inventedPhoto, inventedView } from "../record/invented-part.js";

// Invented. Both have the label of their arbor.
test("a wheel and the pinion on its arbor are two parts of the report, the wheel first", () => {
  const wheel = inventedPart({ id: "part-1", label: "T2", count: 64, moduleMm: 0.7, centrePx: [2000, 1500] });
  const leaves = inventedPart({ id: "part-2", label: "T2", count: 8, moduleMm: 0.7, centrePx: [2010, 1500] });
  const pinion = { ...leaves, kind: "pinion" as const, onArborOf: "part-1" };
  const photos = ["a.jpg", "b.jpg"].map((file) =>
    recordPhoto(inventedPhoto(file), inventedView, [pinion, wheel], [], {}),
  );
  expect(photos[0]!.parts.map(({ on_arbor_of }) => on_arbor_of)).toEqual(["part-1", undefined]);
  const groups = groupParts({
    schema: "wheelsurvey/survey/1",
    made_at: "2025-03-02T09:30:00.000Z",
    software: software(),
    statement: { identification: {}, condition: [], planned_work: [] },
    measurement: measurementDocument(photos),
  });
  expect(groups.map((group) => [groupName(group), group.best.part.kind, group.others.length])).toEqual([
    ["T2", "wheel", 1],
    ["T2 pinion", "pinion", 1],
  ]);
});
