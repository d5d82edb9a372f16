import { expect, test } from "vitest";
import type { Part } from "../../src/parts/index.js";
import { leftoverProblems } from "../../src/parts/leftover-problems.js";

test("what is not understood is told with its place, in whole millimetres and without minus nought", () => {
  const unknown = [{ centreMm: [-0.3, 21.4], lengthMm: 9.2, widthMm: 8.6 }] as const;
  const [problem] = leftoverProblems([], unknown as never);
  expect(problem!.code).toBe("part-unknown");
  expect(problem!.text).toContain("9 by 9 mm at 0, 21 mm");
});

// A lantern on its end whose upper cap hides its trundles was to be laid flat, which it was.
test("what may be a pinion on its end comes with what to do then; what is longer or larger does not", () => {
  const adviceFor = (lengthMm: number, widthMm: number): string =>
    leftoverProblems([], [{ centreMm: [0, 0], centrePx: [0, 0], lengthMm, widthMm }])[0]!.advice;
  expect(adviceFor(11, 9)).toContain("lay its arbor down");
  expect(adviceFor(26, 24)).not.toContain("arbor");
  expect(adviceFor(18, 4)).not.toContain("arbor");
});

test("parts that touch are named by their tags, else by their numbers, with what to do", () => {
  const parts = [{ id: "part-1", label: "T1" }, { id: "part-2" }] as Part[];
  const [problem] = leftoverProblems([[parts[0], parts[1]]], []);
  expect(problem!.text).toMatch(/^T1 and part-2 touch or overlap/);
  expect(problem!.advice).toContain("apart");
});
