import { expect, test } from "vitest";
import { setHeights } from "../../src/pipeline/set-heights.js";
import type { PartRecord, PhotoRecord, SetRecord } from "../../src/record/index.js";

const cameraMm = 500;
/** A wheel of 40 mm on a face `faceMm` up, as it is measured on the assumed plane. Similar triangles. */
const seenMm = (faceMm: number): number => (40 * (cameraMm - 1.5)) / (cameraMm - faceMm);

const wheel = (faceMm: number, label?: string, id = "part-1"): PartRecord => ({
  id,
  kind: "wheel",
  ...(label === undefined ? {} : { label }),
  centre_px: [0, 0],
  teeth: { count: 60, probability: 1, alternatives: [], missing: [], bent: [] },
  tip_diameter_mm: { value: seenMm(faceMm), u: 0.03 },
  face_height_mm: { value: 1.5, u: 0.35 },
  findings: [],
});

const photo = (file: string, ...parts: PartRecord[]): PhotoRecord => ({
  file,
  scale: { source: "mat" },
  view: {
    markers_found: 10,
    reprojection_rms_px: 0.1,
    camera: { fx_px: 3000, fy_px: 3000, cx_px: 0, cy_px: 0, k1: 0, k2: 0 },
    print_scale: [1, 1],
    // Looks straight down: the camera's y and z run against those of the mat.
    mat_to_camera: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation_mm: [0, 0, cameraMm] },
  },
  parts,
  problems: [],
});

const set = (heightMm: number, u: number, label?: string): SetRecord => ({
  kind: "height",
  ...(label === undefined ? {} : { label }),
  photos: ["a.jpg", "b.jpg"],
  face_height_mm: { value: heightMm, u },
  tip_diameter_mm: { value: 40, u: 0.03 },
  positions: ["a.jpg", "b.jpg"].map((file) => ({
    file,
    part_id: "part-1",
    turn_deg: 0,
    centre_mm: [0, 0],
  })),
});

test("the wheel of the set and, elsewhere, the wheel with its label have the height that was found", () => {
  const found = [{ label: "T2", heightMm: 10, uMm: 0.08, fromSet: true }];
  for (const file of ["a.jpg", "elsewhere.jpg"])
    expect(setHeights(photo(file, wheel(10, "T2")), [set(10, 0.08, "T2")], {})).toEqual({
      faceHeights: found,
      problems: [],
    });
});

test("a wheel without a label has it where it lies alone in a photograph of the set, and only there", () => {
  const bare = [{ heightMm: 10, uMm: 0.08, fromSet: true }];
  expect(setHeights(photo("a.jpg", wheel(10)), [set(10, 0.08)], {}).faceHeights).toEqual(bare);
  const two = photo("a.jpg", wheel(10), wheel(1.5, undefined, "part-2"));
  expect(setHeights(two, [set(10, 0.08)], {}).faceHeights).toEqual([]);
  expect(setHeights(photo("c.jpg", wheel(10)), [set(10, 0.08)], {}).faceHeights).toEqual([]);
});

test("a typed height wins, for its label or for every part", () => {
  const sets = [set(10, 0.08, "T2")];
  for (const typed of [{ label: "T2", heightMm: 3 }, { heightMm: 3 }])
    expect(setHeights(photo("a.jpg", wheel(10, "T2")), sets, { faceHeights: [typed] }).faceHeights).toEqual(
      [],
    );
  const other = { faceHeights: [{ label: "T3", heightMm: 3 }] };
  expect(setHeights(photo("a.jpg", wheel(10, "T2")), sets, other).faceHeights).toHaveLength(1);
});

test("the same wheel laid flat elsewhere is not measured at the height that it had in the set", () => {
  const { faceHeights, problems } = setHeights(
    photo("flat.jpg", wheel(1.5, "T2")),
    [set(10, 0.08, "T2")],
    {},
  );
  expect(faceHeights).toEqual([]);
  expect(problems.map(({ code }) => code)).toEqual(["height-set-elsewhere"]);
});

test("a height no better known than the assumption is used only where it contradicts it", () => {
  const photoA = (mm: number) => photo("a.jpg", wheel(mm, "T2"));
  expect(setHeights(photoA(1.8), [set(1.8, 0.5, "T2")], {}).faceHeights).toEqual([]);
  expect(setHeights(photoA(10), [set(10, 0.5, "T2")], {}).faceHeights).toHaveLength(1);
  expect(setHeights(photoA(1.5), [set(-0.2, 0.1, "T2")], {}).faceHeights).toEqual([]);
});
