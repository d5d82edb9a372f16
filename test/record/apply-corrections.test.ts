import { describe, expect, test } from "vitest";
import {
  correctPhoto,
  correctionsText,
  meansPart,
  noCorrections,
  readCorrectionsFile,
  recordPhoto,
  settingsWithCorrection,
  strayCorrections,
  type CorrectionsRecord,
  type PartCorrection,
  type PhotoRecord,
} from "../../src/record/index.js";
import { inventedPart, inventedPhoto, inventedView } from "./invented-part.js";

/** An invented wheel of 64 teeth, module 0.5 mm, tooth 12 missing. */
const photo: PhotoRecord = recordPhoto(
  inventedPhoto(),
  inventedView,
  [inventedPart({ id: "w1", count: 64, moduleMm: 0.5, centrePx: [2000, 1500], label: "T2", missing: [12] })],
  [],
  {},
);
const part = photo.parts[0]!;
const change = (own: Partial<PartCorrection>): ReturnType<typeof correctPhoto>["parts"][number] =>
  correctPhoto(photo, {
    file: photo.file,
    sha256: photo.sha256!,
    parts: [{ part: "w1", at_px: [2000, 1500], ...own }],
  }).parts[0]!;

describe("changes by hand over what was measured", () => {
  test("a photograph without changes stays as it is, and the measurement is never altered", () => {
    const before = JSON.stringify(photo);
    expect(correctPhoto(photo, undefined)).toBe(photo);
    change({ tooth_count: 60, kind: "count-wheel", label: "S1" });
    expect(JSON.stringify(photo)).toBe(before);
  });

  test("a stated count holds, says what was measured, and takes module and pitch diameter along", () => {
    const now = change({ tooth_count: 65 });
    expect(now.teeth).toMatchObject({ count: 65, probability: 1, alternatives: [] });
    // Closed form: m = tip / (N + 2 a), a = (tip / m - N) / 2 from the measured values.
    const tip = part.tip_diameter_mm!.value;
    const a = (tip / part.module_mm!.value - 64) / 2;
    expect(now.module_mm!.value).toBeCloseTo(tip / (65 + 2 * a), 9);
    expect(now.pitch_diameter_mm!.value).toBeCloseTo((65 * tip) / (65 + 2 * a), 9);
    expect(now.module_mm!.u / now.module_mm!.value).toBeCloseTo(part.module_mm!.u / part.module_mm!.value, 9);
    expect(now.tip_diameter_mm).toEqual(part.tip_diameter_mm);
    expect(now.findings.map(({ text }) => text).join()).toContain("measured 64, probability 0.998");
  });

  test("striking and adding teeth changes the count by as many, and numbers them anew", () => {
    const places = part.teeth!.places!;
    const struck = change({ teeth: [{ angle_deg: places[4]!.angle_deg, state: "none" }] });
    expect(struck.teeth!.count).toBe(63);
    expect(struck.teeth!.places!.map(({ number }) => number)).toEqual(
      Array.from({ length: 63 }, (_, i) => i + 1),
    );
    const pitch = 360 / 64;
    const added = change({ teeth: [{ angle_deg: places[4]!.angle_deg + pitch / 2, state: "added" }] });
    expect(added.teeth!.count).toBe(65);
    expect(added.teeth!.places).toHaveLength(65);
  });

  test("a tooth seen to be broken is a fault; one seen to be whole is none any more", () => {
    const places = part.teeth!.places!;
    expect(part.teeth!.missing).toHaveLength(1);
    const now = change({
      teeth: [
        { angle_deg: places[11]!.angle_deg, state: "whole" },
        { angle_deg: places[20]!.angle_deg, state: "broken" },
      ],
    });
    expect(now.teeth!.count).toBe(64);
    expect(now.teeth!.missing).toEqual([]);
    expect(now.teeth!.places![20]!.state).toBe("short");
    expect(now.findings.find(({ code }) => code === "short-teeth")).toMatchObject({ severity: "fault" });
    expect(now.findings.some(({ code }) => code === "missing-teeth")).toBe(false);
  });

  test("a circle set by hand scales the tip diameter, widens its uncertainty and drops what hung on the old one", () => {
    const radius = (part.tip_diameter_mm!.value / 2) * 12; // 12 px/mm: the invented view
    const now = change({ circle: { centre_px: [2010, 1500], tip_radius_px: radius * 1.1, within_px: 3 } });
    expect(now.centre_px).toEqual([2010, 1500]);
    // 0.1 px: outlines are recorded to a tenth of a pixel.
    expect(now.tip_diameter_mm!.value).toBeCloseTo(part.tip_diameter_mm!.value * 1.1, 1);
    expect(now.tip_diameter_mm!.u).toBeGreaterThan((2 * 3 * 0.99) / 12);
    for (const key of ["module_mm", "root_diameter_mm", "eccentricity_mm", "roundness_mm", "rim"] as const)
      expect(now[key], key).toBeUndefined();
  });

  test("a part that now stands elsewhere is not changed, and the change is called stray", () => {
    const off: PartCorrection = { part: "w1", at_px: [2900, 1500], tooth_count: 12 };
    expect(meansPart(off, part)).toBe(false);
    const correction = { file: photo.file, sha256: photo.sha256!, parts: [off] };
    expect(correctPhoto(photo, correction).parts[0]).toEqual(part);
    expect(strayCorrections(photo, correction)).toEqual([off]);
  });

  test("a photograph left out has no part and says why; a part said to be none is gone; one marked by hand has no lengths", () => {
    const base = { file: photo.file, sha256: photo.sha256! };
    const out = correctPhoto(photo, { ...base, left_out: true, reason: "blurred", parts: [] });
    expect(out.parts).toEqual([]);
    expect(out.problems[0]!.text).toContain("blurred");
    const none = { part: "w1", at_px: [2000, 1500], left_out: true } as const;
    const byHand: PartCorrection = {
      part: "hand-1",
      at_px: [500, 500],
      circle: { centre_px: [500, 500], tip_radius_px: 90, within_px: 2 },
      tooth_count: 30,
      label: "T4",
    };
    const { parts } = correctPhoto(photo, { ...base, parts: [none, byHand] });
    expect(parts).toHaveLength(1);
    expect(parts[0]).toMatchObject({ id: "hand-1", label: "T4", teeth: { count: 30 } });
    expect(parts[0]!.tip_diameter_mm).toBeUndefined();
  });

  test("a height stated for a photograph comes before that of the survey, for the same label only", () => {
    const settings = { faceHeights: [{ heightMm: 1.5 }, { label: "T2", heightMm: 2 }] };
    const own = { file: "a.jpg", sha256: "0".repeat(64), parts: [], face_heights: [{ label: "T2", mm: 7 }] };
    expect(settingsWithCorrection(settings, own).faceHeights).toEqual([
      { heightMm: 1.5 },
      { label: "T2", heightMm: 7 },
    ]);
    expect(settingsWithCorrection(settings, undefined)).toBe(settings);
  });
});

describe("corrections.yaml", () => {
  const full: CorrectionsRecord = {
    photos: [
      {
        file: "t 2 ü.jpg",
        sha256: "ab".repeat(32),
        left_out: true,
        reason: "x: y # z\n- nested",
        face_heights: [{ mm: 2 }, { label: "T2", mm: 1.5 }],
        parts: [
          {
            part: "w1",
            at_px: [1, 2],
            kind: "escape-wheel",
            label: "",
            tooth_count: 64,
            teeth: [{ angle_deg: 12.5, state: "added" }],
            circle: { centre_px: [1, 2], tip_radius_px: 3, within_px: 1 },
            remark: "yes",
          },
        ],
      },
    ],
    done: ["T2 short-teeth"],
  };

  test("reads back what was written, words of any kind included", () => {
    expect(readCorrectionsFile(correctionsText(full))).toEqual(full);
    expect(readCorrectionsFile(correctionsText(noCorrections))).toEqual(noCorrections);
    expect(readCorrectionsFile("")).toEqual(noCorrections);
  });

  test("is for people to read", () => {
    const text = correctionsText(full);
    expect(text).toContain("left out: true");
    expect(text).toContain("tooth count: 64");
    expect(text.startsWith("#")).toBe(true);
  });

  test.each([
    ["no YAML", "photos: [}"],
    ["aliases", "photos: &a []\ndone: *a"],
    ["another shape", "photos: 7\ndone: []"],
    ["a count that is none", correctionsText(full).replace("tooth count: 64", "tooth count: -1")],
    ["keys of objects", "__proto__: { a: 1 }"],
  ])("refuses %s", (_, text) => {
    expect(() => readCorrectionsFile(text)).toThrow(/corrections.yaml/);
  });
});
