import { expect, test } from "vitest";
import type { Part } from "../../src/parts/index.js";
import { leftoverProblems } from "../../src/parts/leftover-problems.js";

test("what is not understood is told with its place, in whole millimetres and without minus nought", () => {
  const unknown = [{ centreMm: [-0.3, 21.4], lengthMm: 9.2, widthMm: 8.6 }] as const;
  const [problem] = leftoverProblems([], unknown as never);
  expect(problem!.code).toBe("part-unknown");
  expect(problem!.text).toContain("9 by 9 mm at 0, 21 mm");
});

test("parts that touch are named by their tags, else by their numbers, with what to do", () => {
  const parts = [{ id: "part-1", label: "T1" }, { id: "part-2" }] as Part[];
  const [problem] = leftoverProblems([[parts[0], parts[1]]], []);
  expect(problem!.text).toMatch(/^T1 and part-2 touch or overlap/);
  expect(problem!.advice).toContain("apart");
});
