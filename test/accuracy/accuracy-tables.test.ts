import { expect, test } from "vitest";
import type { Part } from "../../src/parts/index.js";
import { quantity } from "../../src/quantity/index.js";
import {
  accuracyText,
  countBar,
  countRow,
  countTable,
  sizeTable,
  smallestToothLine,
} from "./accuracy-tables.js";
import { insertBetweenMarks } from "./insert-between-marks.js";
import type { KnownPhoto, KnownWheel } from "./known-photo.js";
import { markdownTable } from "./markdown-table.js";
import { heightsGiven, judgeParts } from "./measure-known-photo.js";
import { countVerdict, sizeErrors } from "./wheel-outcome.js";

const knownWheel = (change: Partial<KnownWheel> = {}): KnownWheel => ({
  label: "T1",
  toothCount: 60,
  isCountWheel: false,
  centrePx: [500, 500],
  centreMm: [10, 20],
  faceHeightMm: 1.52,
  tipDiameterMm: 40,
  rootDiameterMm: 37,
  moduleMm: 0.65,
  boreDiameterMm: 4,
  eccentricityMm: 0.1,
  ovalityMm: 0,
  leanRad: 0,
  pxPerMm: 10,
  pxPerTooth: 20,
  fromFootMm: 20,
  rimSeen: 1,
  ...change,
});

const knownPhoto = (wheels: readonly KnownWheel[], change: Partial<KnownPhoto> = {}): KnownPhoto => ({
  kind: "single",
  path: "invented.jpg",
  onMat: true,
  bars: {},
  wheels,
  plateCount: 0,
  ...change,
});

const teeth = (count: number, probability: number): NonNullable<Part["teeth"]> => ({
  count,
  probability,
  alternatives: [],
  places: [],
  missing: [],
  bent: [],
});

const part = (change: Partial<Part> = {}): Part => ({
  id: "part-1",
  kind: "wheel",
  centrePx: [500, 500],
  findings: [],
  problems: [],
  outlinePx: { tipCircle: [], rootCircle: [], pitchCircle: [] },
  ...change,
});

const without = <T extends object, K extends keyof T>(whole: T, key: K): Omit<T, K> => {
  const rest = { ...whole };
  delete rest[key];
  return rest;
};

const judged = (photo: KnownPhoto, parts: readonly Part[]) =>
  judgeParts(photo, parts, heightsGiven(photo.wheels));

test("takes a count for right or wrong only from a probability of 0.95", () => {
  expect(countVerdict(60, teeth(60, 0.95))).toBe("right");
  expect(countVerdict(60, teeth(61, 0.95))).toBe("confidently wrong");
  expect(countVerdict(60, teeth(60, 0.949))).toBe("not sure, but right");
  expect(countVerdict(60, teeth(61, 0.949))).toBe("not sure");
  expect(countVerdict(60, undefined)).toBe("not sure");
});

test("one confidently wrong count fails the bar, however many are right, also off the mat", () => {
  const right = judged(knownPhoto([knownWheel()]), [part({ teeth: teeth(60, 1) })]);
  expect(countBar(countRow([right]))).toBe("met");
  const wrong = judged(knownPhoto([knownWheel()], { onMat: false }), [part({ teeth: teeth(59, 0.99) })]);
  expect(countBar(countRow([right, right, wrong]))).toBe("not met");
});

test("the bar asks for every count on the mat from 8 px a tooth, and lets doubt pass below and beside it", () => {
  const doubt = part({ teeth: teeth(60, 0.6) });
  const barOf = (wheel: Partial<KnownWheel>, photo: Partial<KnownPhoto> = {}): string =>
    countBar(countRow([judged(knownPhoto([knownWheel(wheel)], photo), [doubt])]));
  expect(barOf({ pxPerTooth: 8 })).toBe("not met: 0 of 1");
  expect(barOf({ pxPerTooth: 7.9 })).toBe("met: no claim wrong");
  expect(barOf({ rimSeen: 0.9 })).toBe("met: no claim wrong");
  expect(barOf({}, { onMat: false })).toBe("met: no claim wrong");
});

test("counts missed wheels and false parts, but asks for no wheel that is mostly out of the picture", () => {
  const away = part({ centrePx: [900, 100] });
  const outcome = judged(knownPhoto([knownWheel(), knownWheel({ centrePx: [0, 900], rimSeen: 0.4 })]), [
    away,
  ]);
  expect(outcome.wheels.map(({ verdict }) => verdict)).toEqual(["missed"]);
  expect(outcome.falseParts).toEqual([away]);
  expect(countTable([outcome])).toContain("| single  |           1 |      1 |     0 |        0 |");
});

test("takes a pinion for a false part where its wheel has none, and a sure count that is wrong", () => {
  const wheel = part({ teeth: teeth(60, 0.999) });
  const pinion = (count: number, probability: number): Part =>
    part({ id: "part-2", kind: "pinion", onArborOf: "part-1", teeth: teeth(count, probability) });
  const falseOf = (known: KnownWheel, seen: Part): readonly Part[] =>
    judged(knownPhoto([known]), [wheel, seen]).falseParts;
  expect(falseOf(knownWheel({ pinionLeaves: 8 }), pinion(8, 0.98))).toEqual([]);
  expect(falseOf(knownWheel({ pinionLeaves: 8 }), pinion(7, 0.98))).toHaveLength(1);
  expect(falseOf(knownWheel({ pinionLeaves: 8 }), pinion(7, 0.8))).toEqual([]);
  expect(falseOf(knownWheel(), pinion(8, 0.8))).toHaveLength(1);
});

test("takes a plate for no false part where there is one", () => {
  const plate = part({ kind: "plate" });
  expect(judged(knownPhoto([], { plateCount: 1 }), [plate]).falseParts).toEqual([]);
  expect(judged(knownPhoto([]), [plate]).falseParts).toEqual([plate]);
});

test("gives heights as a user would: to 0.05 mm, for all parts only where all agree", () => {
  expect(heightsGiven([knownWheel()])).toEqual({ byLabelMm: { T1: 1.5 }, everyPartMm: 1.5 });
  const two = [knownWheel(), knownWheel({ label: "T2", faceHeightMm: 1.9 })];
  expect(heightsGiven(two)).toEqual({ byLabelMm: { T1: 1.5, T2: 1.9 } });
});

test("compares sizes with their uncertainty, and the module in percent", () => {
  const measured = part({
    teeth: teeth(60, 1),
    tipDiameterMm: quantity(40.05, "mm", [
      ["scale:a", 0.03],
      ["edge:b", 0.04],
    ]),
    moduleMm: quantity(0.6526, "mm", [["scale:a", 0.00065]]),
    eccentricityMm: quantity(0.14, "mm", [["fit:c", 0.01]]),
    centreMm: [10.01, 19.98],
  });
  const wheel = knownWheel();
  const errors = sizeErrors(knownPhoto([wheel]), wheel, measured, true);
  const of = (size: string) => errors.filter((e) => e.size === size);
  expect(of("tip")[0]!.error).toBeCloseTo(0.05, 9);
  expect(of("tip")[0]!.u).toBeCloseTo(0.05, 9);
  expect(of("tip")[0]!.allowed).toBeCloseTo(0.07, 9);
  expect(of("module")[0]!.error).toBeCloseTo(0.4, 9);
  expect(of("module")[0]!.u).toBeCloseTo(0.1, 9);
  expect(of("eccentricity")[0]!.allowed).toBe(0.03);
  expect(of("centre").map(({ error }) => error.toFixed(2))).toEqual(["0.01", "-0.02"]);
  expect(of("bore")).toEqual([]);
  const table = sizeTable([judged(knownPhoto([wheel]), [measured])]);
  expect(table).toContain("0.03 mm + 0.1 %: met, 1 of 1");
  expect(table).toContain("0.03 mm: not met, 0 of 1");
  expect(table).toContain("1 of 1 (100 %)");
});

test("asks no size bar off the mat, from a coarse picture or far from the foot point; compares no hidden bore", () => {
  const measured = part({
    tipDiameterMm: quantity(41, "mm"),
    eccentricityMm: quantity(1, "mm"),
    centreMm: [0, 0],
  });
  const compared = (wheel: Partial<KnownWheel>, photo: Partial<KnownPhoto>, heightKnown = true) => {
    const known = knownWheel(wheel);
    return sizeErrors(knownPhoto([known], photo), known, measured, heightKnown);
  };
  const cases = [
    compared({}, { onMat: false }),
    compared({ pxPerMm: 9.9, fromFootMm: 51 }, {}),
    compared({ fromFootMm: 51 }, {}, false),
  ];
  for (const errors of cases) {
    expect(errors.map(({ size }) => size)).toEqual(expect.arrayContaining(["tip", "eccentricity"]));
    expect(errors.every(({ allowed }) => allowed === undefined)).toBe(true);
  }
  expect(cases[0]!.some(({ size }) => size === "centre")).toBe(false);
  const hidden = without(without(knownWheel(), "boreDiameterMm"), "eccentricityMm");
  const errors = sizeErrors(knownPhoto([hidden]), hidden, measured, true);
  expect(errors.map(({ size }) => size)).toEqual(["tip", "centre", "centre"]);
});

test("keeps the module of a wrong count out", () => {
  const wheel = knownWheel();
  const measured = part({ teeth: teeth(61, 0.5), moduleMm: quantity(0.64, "mm") });
  expect(sizeErrors(knownPhoto([wheel]), wheel, measured, true)).toEqual([]);
});

test("names the smallest tooth that was counted right", () => {
  const outcome = (pxPerTooth: number, count: number) =>
    judged(knownPhoto([knownWheel({ pxPerTooth })]), [part({ teeth: teeth(count, 1) })]);
  const line = smallestToothLine([outcome(9, 60), outcome(4.5, 60), outcome(4.2, 59)]);
  expect(line).toContain("4.5 px (bar: 4 px)");
  expect(line).toContain("1 of 2 wheels");
});

test("writes text of both tables that says when there was no case", () => {
  const text = accuracyText([judged(knownPhoto([]), [])], "Nothing.");
  expect(text).toContain("| **all** |");
  expect(text).toMatch(/\| tip, mm +\| +0 \|/);
});

test("lays a Markdown table out, numbers to the right, and lets no cell break it", () => {
  expect(markdownTable(["what", "n"], [["a|b\nc", "12"]])).toBe(
    "| what   |   n |\n| ------ | --: |\n| a\\|b c |  12 |",
  );
});

test("replaces only what stands between the marks, and refuses a page without them", () => {
  const page = "top\n<!-- accuracy:begin -->\nold\n<!-- accuracy:end -->\nbottom\n";
  const once = insertBetweenMarks(page, "accuracy", "new\n");
  expect(once).toBe("top\n<!-- accuracy:begin -->\n\nnew\n\n<!-- accuracy:end -->\nbottom\n");
  expect(insertBetweenMarks(once, "accuracy", "new")).toBe(once);
  expect(() => insertBetweenMarks("none", "accuracy", "x")).toThrow(/accuracy:begin/);
  expect(() => insertBetweenMarks(page + page, "accuracy", "x")).toThrow(/each once/);
  expect(() => insertBetweenMarks("<!-- a:end --> <!-- a:begin -->", "a", "x")).toThrow(/each once/);
});
