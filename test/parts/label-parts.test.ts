import { expect, test } from "vitest";
import { labelParts } from "../../src/parts/label-parts.js";

const tag = (label: string, u: number, v: number) => ({
  label,
  centrePx: [u, v] as const,
  cornersPx: [
    [u - 20, v - 20],
    [u + 20, v - 20],
    [u + 20, v + 20],
    [u - 20, v + 20],
  ] as const,
});
const part = (u: number, v: number, radiusPx = 100) => ({ centrePx: [u, v] as const, radiusPx });
const codes = (problems: readonly { readonly code: string }[]): string[] => problems.map((p) => p.code);

test("every part takes the nearest tag", () => {
  const { labels, problems } = labelParts(
    [part(200, 200), part(900, 200)],
    [tag("S2", 900, 360), tag("T1", 200, 370)],
  );
  expect(labels).toEqual(["T1", "S2"]);
  expect(problems).toEqual([]);
});

test("nearness is to the rim: a large wheel keeps its tag beside a small one", () => {
  // Tag 40 px off the rim of the large wheel, 150 px off the rim of the small one, whose centre is nearer.
  const { labels } = labelParts([part(500, 500, 300), part(1020, 500, 30)], [tag("T1", 840, 500)]);
  expect(labels).toEqual(["T1", undefined]);
});

test("a tag between two parts goes to the nearer, with a word about it", () => {
  const { labels, problems } = labelParts([part(200, 200), part(600, 200)], [tag("T3", 395, 200)]);
  expect(labels).toEqual(["T3", undefined]);
  expect(codes(problems)).toEqual(["tag-ambiguous"]);
  expect(problems[0]!.text).toContain("T3");
});

test("a tag serves one part, a part has one tag", () => {
  const one = labelParts([part(200, 200), part(900, 200)], [tag("T1", 200, 350)]);
  expect(one.labels).toEqual(["T1", undefined]);
  const two = labelParts([part(200, 200)], [tag("T1", 200, 350), tag("T2", 200, 420)]);
  expect(two.labels).toEqual(["T1"]);
});

test("the same tag twice is a problem", () => {
  const { problems } = labelParts(
    [part(200, 200), part(900, 200)],
    [tag("T1", 200, 350), tag("T1", 900, 350)],
  );
  expect(codes(problems)).toContain("tag-ambiguous");
  expect(problems.some((p) => p.text.includes("twice"))).toBe(true);
});

test("TURN and PLAY speak of the photograph, not of a part", () => {
  const { labels, problems } = labelParts([part(200, 200)], [tag("TURN", 200, 330), tag("PLAY", 330, 200)]);
  expect(labels).toEqual([undefined]);
  expect(problems).toEqual([]);
});

test("no parts, or no tags: no labels", () => {
  expect(labelParts([], [tag("T1", 0, 0)]).labels).toEqual([]);
  expect(labelParts([part(200, 200)], []).labels).toEqual([undefined]);
});
