import { expect, test } from "vitest";
import { measurementDocument, software, type PartRecord } from "../../src/record/index.js";
import { surveyCsv } from "../../src/report/index.js";
import { plateBlocks } from "../../src/report/content/plate-section.js";

/** Invented plate: three pivot holes on a right angle of 3 and 4 cm, and a pillar. */
const plate: PartRecord = {
  id: "part-1",
  kind: "plate",
  centre_px: [0, 0],
  findings: [],
  plate: { outline_mm: [], cut_off: false, scale_u: 0.001 },
  holes: [
    { id: "H1", kind: "pivot", centre_mm: [0, 0], centre_u_mm: 0.01, diameter_mm: { value: 2, u: 0.02 } },
    {
      id: "H2",
      kind: "pivot",
      centre_mm: [30, 0],
      centre_u_mm: 0.01,
      diameter_mm: { value: 1.5, u: 0.02 },
      ovality_mm: { value: 0.21, u: 0.02 },
      ovality_angle_deg: { value: 64, u: 3 },
    },
    { id: "H3", kind: "pivot", centre_mm: [0, 40], centre_u_mm: 0.01 },
    { id: "H4", kind: "pillar", centre_mm: [35, 45] },
  ],
};

test("lists every hole, with what is not known said in words", () => {
  const [holes] = plateBlocks(plate);
  expect(holes?.kind).toBe("table");
  if (holes?.kind !== "table") return;
  expect(holes.rows).toHaveLength(4);
  expect(holes.rows[1]!.slice(1)).toEqual([
    "pivot",
    "30.00, 0.00",
    "1.500\u00a0±\u00a00.040",
    "0.210\u00a0±\u00a00.040",
    "64°",
  ]);
  expect(holes.rows[2]!.slice(3)).toEqual(["cannot tell", "cannot tell", "round as far as seen"]);
});

test("gives the distances of pivot holes, with the scale in their uncertainty: 30, 40 and 50 mm", () => {
  const [, distances] = plateBlocks(plate);
  if (distances?.kind !== "table") throw new Error("no table of distances");
  const read = distances.rows.map(([, , cell]) =>
    typeof cell === "string" ? cell.split("\u00a0±\u00a0").map(Number) : [],
  );
  expect(read.map(([d]) => d)).toEqual([30, 40, 50]);
  // k = 2, two digits, rounded up.
  read.forEach(([d, expanded]) => {
    expect(Math.abs(expanded! - 2 * Math.hypot(0.01, 0.01, 0.001 * d!))).toBeLessThan(0.01);
  });
});

test("says nothing of a wheel", () => {
  expect(plateBlocks({ ...plate, kind: "wheel" })).toEqual([]);
});

test("the CSV holds size and holes of a plate, each number in a line of its own", () => {
  const sized = { ...plate, plate: { ...plate.plate!, length_mm: { value: 120.5, u: 0.2 } } };
  const csv = surveyCsv({
    schema: "wheelsurvey/survey/1",
    made_at: "2025-03-02T09:30:00.000Z",
    software: software(),
    statement: { identification: {}, condition: [], planned_work: [] },
    measurement: measurementDocument([
      { file: "plate.jpg", scale: { source: "none" }, parts: [sized], problems: [] },
    ]),
  });
  const lines = csv.split("\r\n").filter((line) => line.includes(",plate,"));
  const of = (name: string): string[] =>
    lines.filter((line) => line.includes(`,${name},`)).map((line) => line.split(`,${name},`)[1]!);
  expect(of("length")).toEqual(["120.5,mm,0.2,0.4,"]);
  expect(of("hole H2 (pivot) x")).toEqual(["30,mm,0.01,0.02,"]);
  expect(of("hole H2 (pivot) diameter")).toEqual(["1.5,mm,0.02,0.04,"]);
  expect(of("hole H2 (pivot) direction of ovality")).toEqual(["64,deg,3,6,"]);
  // What is not known has no line.
  expect(lines.filter((line) => line.includes("hole H4"))).toHaveLength(2);
});
