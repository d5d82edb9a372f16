import { describe, expect, test } from "vitest";
import { checkBarReadings } from "../../src/mat/index.js";
import { UsageError } from "../../src/problem/index.js";

describe("checkBarReadings", () => {
  test("ordinary readings pass without a remark", () => {
    expect(checkBarReadings("a4", { acrossMm: 149.6, alongMm: 150.3 })).toEqual([]);
    expect(checkBarReadings("letter", { acrossMm: 150, alongMm: 150 })).toEqual([]);
    expect(checkBarReadings("a3", { acrossMm: 250.4, alongMm: 249.1 })).toEqual([]);
  });

  test("a sheet that was fitted to the page passes with a remark on each bar", () => {
    const remarks = checkBarReadings("a4", { acrossMm: 144.9, alongMm: 145 });
    expect(remarks).toHaveLength(2);
    expect(remarks[0]).toContain("across the sheet is 3.4 % off");
    expect(remarks[1]).toContain("along the sheet is 3.3 % off");
  });

  test("bars that part by more than a printer's habit are remarked on", () => {
    expect(checkBarReadings("a4", { acrossMm: 150.9, alongMm: 148.9 })).toEqual([
      "The two bars differ by 1.3 %, more than is usual: measure both again.",
    ]);
  });

  test.each([
    ["centimetres", 15.02, 150, /across.*150\.0 mm.*received 15\.02; is that in centimetres/],
    ["inches", 150, 5.91, /along.*received 5\.91; is that in inches/],
    ["the wrong bar", 120, 150, /did you measure the right bar/],
    ["just beyond a tenth", 165.01, 150, /within 10 %/],
    ["nothing", 0, 150, /received 0/],
    ["no number", NaN, 150, /received NaN/],
    ["no end", Infinity, 150, /received Infinity/],
    ["less than nothing", -150, 150, /received -150/],
  ])("refuses %s", (_, acrossMm, alongMm, message) => {
    expect(() => checkBarReadings("a4", { acrossMm, alongMm })).toThrow(UsageError);
    expect(() => checkBarReadings("a4", { acrossMm, alongMm })).toThrow(message);
  });

  test("an A4 reading given for an A3 sheet is refused", () => {
    expect(() => checkBarReadings("a3", { acrossMm: 150, alongMm: 150 })).toThrow(/A3.*right paper/);
  });

  test("a tenth off is still taken", () => {
    expect(checkBarReadings("a3", { acrossMm: 225, alongMm: 225 })).toHaveLength(2);
  });
});
