import { expect, test } from "vitest";
import { jsonText } from "../../src/commands/json-text.js";
import { teethWords } from "../../src/commands/measurement-table.js";
import { safeStem } from "../../src/commands/output-folder.js";
import { terminalText } from "../../src/commands/terminal-text.js";
import type { PartRecord } from "../../src/record/index.js";

const part = (
  teeth?: Partial<NonNullable<PartRecord["teeth"]>>,
  kind: PartRecord["kind"] = "wheel",
): PartRecord => ({
  id: "part-1",
  kind,
  centre_px: [0, 0],
  findings: [],
  ...(teeth && {
    teeth: { count: 72, probability: 0.99, alternatives: [], missing: [], bent: [], ...teeth },
  }),
});

test("a sure count stands alone, an unsure one with its rivals", () => {
  const alternatives = [
    { count: 71, probability: 0.3 },
    { count: 73, probability: 0.01 },
  ];
  expect(teethWords(part({ alternatives }))).toBe("72");
  expect(teethWords(part({ probability: 0.95, alternatives }))).toBe("72");
  expect(teethWords(part({ probability: 0.949, alternatives: alternatives.slice(0, 1) }))).toBe(
    "not sure: 72 or 71",
  );
  expect(teethWords(part({ probability: 0.5, alternatives }))).toBe("not sure: 72, 71 or 73");
  expect(teethWords(part({ probability: 0.5 }))).toBe("not sure: 72");
  expect(teethWords(part())).toBe("cannot tell");
  expect(teethWords(part(undefined, "plate"))).toBe("–");
  expect(teethWords(part({ missing: [{ angle_deg: 1 }, { angle_deg: 9 }], bent: [{ angle_deg: 3 }] }))).toBe(
    "72 (2 missing, 1 bent)",
  );
});

test("JSON stays the same document, however it is laid out", () => {
  const value = {
    empty: { list: [], object: {} },
    points: [
      [1, 2],
      [3, 4.5],
    ],
    deep: [{ a: [[{ b: null }]] }, "text", false],
    words: "\u0000\u001b[31m\u007f\u009b\u202e\u2028\ufeff\ud800 é 齿 🙂",
    "key \u009b": 1e-12,
  };
  const text = jsonText({ ...value, gone: undefined });
  expect(JSON.parse(text)).toEqual(value);
  expect(text).toContain('"points": [[1,2], [3,4.5]]');

  expect(text).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202e\u2028\ufeff]/);
  expect(text).toContain("é 齿 🙂");
});

test("a terminal is shown what it would obey", () => {
  expect(terminalText("\u001b[2J\n\t\u009b\u202e\ud800é🙂")).toBe(
    "\\u{1b}[2J\\u{a}\\u{9}\\u{9b}\\u{202e}\\u{d800}é🙂",
  );
  expect(terminalText("a\nb\r", "\n")).toBe("a\nb\\u{d}");
});

test.each([
  ["/tmp/a b.jpg", "a b"],
  ["../../etc/passwd", "passwd"],
  ["..jpg", "photo"],
  ["con.jpg", "photo-con"],
  ["-rf.jpg", "rf"],
  ["a:b\\c*?.png", "a_b_c__"],
  ["e\u0301.jpg", "é"],
  ["\u202egpj.jpg", "_gpj"],
  [`${"ß".repeat(300)}.jpg`, "ß".repeat(50)],
])("the copy of %j begins with %j", (file, stem) => {
  expect(safeStem(file)).toBe(stem);
});
