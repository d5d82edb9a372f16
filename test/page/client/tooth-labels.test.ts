import { expect, test } from "vitest";
import { toothLabels } from "../../../src/page/client/photo/tooth-labels.js";

const pitch = 360 / 96;
const states: Readonly<Record<number, "missing" | "bent">> = { 13: "missing", 14: "missing", 16: "bent" };
const places = Array.from({ length: 96 }, (_, i) => ({
  number: i + 1,
  angle_deg: i * pitch,
  state: states[i + 1] ?? ("whole" as const),
  tip_px: [0, 0] as [number, number],
}));
/** A circle of 120 px on the screen. */
const tipAt = ({ angle_deg: deg }: { angle_deg: number }): [number, number] => [
  120 * Math.cos((deg * Math.PI) / 180),
  -120 * Math.sin((deg * Math.PI) / 180),
];

test("faults of neighbouring teeth can be read: they were written over each other", () => {
  const labels = toothLabels(places, tipAt, { every: 5, numbers: true, here: undefined });
  const texts = labels.map(({ text }) => text);
  expect(texts).toContain("13–14 missing");
  expect(texts).toContain("16 bent");
  // Text of 13 px is about 7 px a letter wide, and 15 px high with its halo.
  const pairs = labels.flatMap((a, i) => labels.slice(i + 1).map((b) => [a, b] as const));
  const hidden = pairs.filter(
    ([a, b]) =>
      Math.abs(a.at[0] - b.at[0]) < (7 * (a.text.length + b.text.length)) / 2 &&
      Math.abs(a.at[1] - b.at[1]) < 14,
  );
  expect(hidden).toEqual([]);
  expect(pairs.length).toBeGreaterThan(100);
});

test("the tooth that somebody looks at has its number, also where numbers are left out", () => {
  const labels = toothLabels(places, tipAt, { every: 5, numbers: false, here: 43 });
  expect(labels.map(({ text }) => text)).toEqual(["13–14 missing", "16 bent", "43"]);
});
