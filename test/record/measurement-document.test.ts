import { readFileSync } from "node:fs";
import { Ajv2020 } from "ajv/dist/2020.js";
import { expect, test } from "vitest";
import { z } from "zod";
import { quantity, standardUncertainty } from "../../src/quantity/index.js";
import { measurementSchema } from "../../src/record/measurement-schema.js";
import {
  measurementDocument,
  measurementJsonSchema,
  readMeasurementDocument,
  recordPart,
  recordPhoto,
  recordQuantity,
  recordUnreadPhoto,
  software,
} from "../../src/record/index.js";
import type { View } from "../../src/view/index.js";
import { inventedPart, inventedPhoto, inventedView } from "./invented-part.js";

const wheel = inventedPart({
  id: "W1",
  label: "T2",
  count: 64,
  moduleMm: 0.6,
  centrePx: [1200, 1400],
  missing: [12, 13],
  bent: [20],
});
const settings = { matAcrossMm: 149.7, matAlongMm: 150.15, faceHeights: [{ label: "T2", heightMm: 1.5 }] };
const photo = recordPhoto(inventedPhoto(), inventedView, [wheel], [], settings);
const unread = recordUnreadPhoto(
  { file: "notes.jpg", sha256: "ab".repeat(32), byteCount: 12 },
  { code: "not-an-image", text: "notes.jpg: text, not a photograph.", advice: "Give a photograph." },
  {},
);
const document = measurementDocument(
  [photo, unread],
  [
    {
      kind: "turn",
      photos: ["a.jpg", "b.jpg", "c.jpg"],
      eccentricity_mm: { value: 0.12, u: 0.01 },
      axis_mm: [1, 2],
      verdict: "cannot tell",
    },
  ],
);
const throughJson: unknown = JSON.parse(JSON.stringify(document));

// The copy is what other programs are given; write it anew with UPDATE_SCHEMA=1.
test("the schema that is shipped is the schema that the program uses", async () => {
  const place = new URL("../../src/record/measurement.schema.json", import.meta.url);
  const now = `${JSON.stringify(measurementJsonSchema(), undefined, 2)}\n`;
  if (process.env["UPDATE_SCHEMA"]) {
    const { writeFileSync } = await import("node:fs");
    writeFileSync(place, now);
  }
  expect(JSON.parse(readFileSync(place, "utf8"))).toEqual(measurementJsonSchema());
});

test("a document passes an independent JSON Schema validator", () => {
  const validate = new Ajv2020({ allErrors: true }).compile(measurementJsonSchema());
  expect(validate(throughJson), JSON.stringify(validate.errors)).toBe(true);
});

test("the validator refuses what the contract forbids", () => {
  const validate = new Ajv2020().compile(measurementJsonSchema());
  const spoil = (change: (d: ReturnType<typeof copy>) => void): boolean => {
    const d = copy();
    change(d);
    return validate(d);
  };
  const copy = () => structuredClone(throughJson) as { schema: string; photos: Record<string, unknown>[] };
  expect(spoil(() => undefined)).toBe(true);
  expect(spoil((d) => (d.schema = "other/1"))).toBe(false);
  expect(spoil((d) => (d.photos[0]!["sha256"] = "xyz"))).toBe(false);
  expect(spoil((d) => (d.photos[0]!["parts"] = null))).toBe(false);
  expect(spoil((d) => (d.photos[0]!["scale"] = { source: "guess" }))).toBe(false);
});

// A key that is misspelt in the writer would pass the open schema; the closed one refuses it.
test("the writer writes no key that the contract does not name", () => {
  const closed = { ...z.toJSONSchema(measurementSchema, { io: "output" }) };
  const validate = new Ajv2020({ allErrors: true }).compile(closed);
  expect(validate(throughJson), JSON.stringify(validate.errors)).toBe(true);
  const odd = structuredClone(throughJson) as { photos: Record<string, unknown>[] };
  odd.photos[0]!["widht_px"] = 1;
  expect(validate(odd)).toBe(false);
});

test("what is written is what is read back", () => {
  expect(readMeasurementDocument(JSON.stringify(document))).toEqual(throughJson);
  expect(document.software).toEqual(software());
  expect(software().version).toMatch(/^\d+\.\d+\.\d+/);
});

test("a document from a later version, with more keys, can still be read", () => {
  const later = structuredClone(throughJson) as { photos: Record<string, unknown>[] };
  later.photos[0]!["weather"] = "fine";
  expect(readMeasurementDocument(later).photos[0]!.file).toBe("invented-1.jpg");
});

test("reading says where a document departs from the contract", () => {
  expect(() => readMeasurementDocument("{", "x.json")).toThrow(/x\.json: not JSON/);
  const spoilt = structuredClone(throughJson) as { photos: { parts: { tip_diameter_mm: unknown }[] }[] };
  spoilt.photos[0]!.parts[0]!.tip_diameter_mm = { value: "wide", u: 0.1 };
  expect(() => readMeasurementDocument(spoilt)).toThrow(/photos\.0\.parts\.0\.tip_diameter_mm\.value/);
});

test("radians leave as degrees, directions between 0 and 360", () => {
  const part = photo.parts[0]!;
  // -0.3 rad is 342.8113 degrees: 360 - 0.3 * 180 / pi.
  expect(part.ovality_angle_deg!.value).toBeCloseTo(360 - 17.18873, 4);
  expect(part.ovality_angle_deg!.u).toBeCloseTo((0.4 * 180) / Math.PI, 2);
  expect(part.tilt_deg!.value).toBeCloseTo(0.229183, 5);
  // A tilt is an amount, no direction: a negative one stays negative.
  expect(recordQuantity(quantity(-0.1, "rad"))!.value).toBeCloseTo(-5.729578, 5);
  expect(recordQuantity(quantity(2 * Math.PI - 1e-12, "rad"), true)!.value).toBe(0);
  const angles = part.teeth!.places!.map((p) => p.angle_deg);
  expect(angles).toHaveLength(64);
  expect(angles.every((a) => a >= 0 && a < 360)).toBe(true);
});

test("the budget's squares add up to the squared standard uncertainty", () => {
  const { budget, u } = photo.parts[0]!.tip_diameter_mm!;
  expect(standardUncertainty(wheel.tipDiameterMm!)).toBeCloseTo(u, 5);
  expect(Math.hypot(...budget!.map((entry) => entry.u))).toBeCloseTo(u, 5);
  expect(budget!.map((entry) => entry.u)).toEqual(budget!.map((entry) => entry.u).sort((a, b) => b - a));
  // Scale and height keep their name, since each can be acted on; the two pose inputs are added up.
  expect(budget!.filter((e) => e.source === "scale").map((e) => e.input)).toEqual([
    "mat-across",
    "mat-along",
  ]);
  expect(budget!.filter((e) => e.source === "pose")).toHaveLength(1);
});

test("without a scale no length leaves, but counts and relative eccentricity do", () => {
  const withoutMat = Object.entries(inventedView).filter(([key]) => key !== "mat");
  const bareView = { ...(Object.fromEntries(withoutMat) as Omit<View, "mat">), source: "none" } as const;
  const relative = { ...wheel, relativeEccentricity: quantity(0.004, "1", [["edge:W1", 0.001]]) };
  const bare = recordPhoto(inventedPhoto(), bareView, [relative], [], {});
  const keys = new Set<string>();
  const collect = (value: unknown): void => {
    if (typeof value !== "object" || value === null) return;
    for (const [key, inner] of Object.entries(value)) {
      keys.add(key);
      collect(inner);
    }
  };
  collect(bare.parts);
  expect([...keys].filter((k) => k.endsWith("_mm") || k === "diametral_pitch")).toEqual([]);
  expect(bare.scale).toEqual({ source: "none" });
  expect(bare.parts[0]!.teeth!.count).toBe(64);
  expect(bare.parts[0]!.relative_eccentricity!.value).toBe(0.004);
  expect(bare.parts[0]!.rim!.radius_px!.length).toBeGreaterThan(700);
  // The same part with its scale does carry lengths, or the test above would prove nothing.
  expect(photo.parts[0]!.tip_diameter_mm!.value).toBeCloseTo(0.6 * 66.76, 6);
});

test("px/mm is that of the field's centre", () => {
  // 4800 px focal length, 400 mm up, looking straight down: 12 px/mm.
  expect(photo.scale).toEqual({ source: "mat", px_per_mm: 12 });
  expect(photo.view!.markers_found).toBe(24);
  expect(photo.view!.print_scale).toEqual([0.998, 1.001]);
});

test("a value that is not finite is left out and said to be", () => {
  const spoilt = recordPart({ ...wheel, ovalityMm: quantity(NaN, "mm", [["edge:a", 0.1]]) }, true);
  expect(spoilt.ovality_mm).toBeUndefined();
  expect(spoilt.findings.find((f) => f.code === "value-not-finite")!.text).toContain("ovality_mm");
});

test("the rim says which stretches were not seen", () => {
  const { unseen, radius_mm: radii, step_deg: step } = photo.parts[0]!.rim!;
  // 2560 samples, every second one kept; 10 to 29 were unseen.
  expect(radii).toHaveLength(1280);
  expect(step).toBeCloseTo(360 / 1280, 9);
  expect(unseen).toEqual([[5, 10]]);
});

test("problems of photograph and view stand together, once each", () => {
  const problem = { code: "two-mats", text: "Two mats.", advice: "Take one away." } as const;
  const twice = recordPhoto(inventedPhoto(), { ...inventedView, problems: [problem] }, [], [problem], {});
  expect(twice.problems).toEqual([problem]);
});

test("unknown camera data stay absent", () => {
  const bare = recordPhoto({ ...inventedPhoto(), cameraData: {} }, undefined, [], [], {});
  expect("camera_data" in bare || "captured_at" in bare || "view" in bare).toBe(false);
  expect(bare.settings).toEqual({});
});
