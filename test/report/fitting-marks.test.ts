import { expect, test } from "vitest";
import sharp from "sharp";
import { recordPhoto, type PartRecord, type PhotoRecord } from "../../src/record/index.js";
import { drawOverlay } from "../../src/report/index.js";
import { inventedPart, inventedPhoto, inventedView } from "../record/invented-part.js";

// Invented parts at 12 px/mm, seen from straight above: picture angles are part angles, y turned over.
const centre = [2000, 1500] as const;
const pxPerMm = 12;
const wheel = inventedPart({ id: "W1", label: "S2", count: 64, moduleMm: 0.7, centrePx: centre });
const photo = recordPhoto(inventedPhoto(), inventedView, [wheel], [], {});
const plain = photo.parts[0]!;
const photoWith = (part: PartRecord): PhotoRecord => ({ ...photo, parts: [part] });
const on = (angleDeg: number, radiusMm: number): [number, number] => [
  centre[0] + pxPerMm * radiusMm * Math.cos((angleDeg * Math.PI) / 180),
  centre[1] - pxPerMm * radiusMm * Math.sin((angleDeg * Math.PI) / 180),
];

/** What marks change in the drawing, brightest channel, round a pixel. */
async function changed(
  part: PartRecord,
  without: PartRecord,
  at: readonly [number, number],
  reach: number,
): Promise<number> {
  const box = {
    left: Math.round(at[0] - reach),
    top: Math.round(at[1] - reach),
    width: 2 * reach,
    height: 2 * reach,
  };
  const pixels = async (p: PartRecord): Promise<Buffer> =>
    sharp(Buffer.from(drawOverlay(photoWith(p), { cards: false })))
      .flatten({ background: "#806020" })
      .extract(box)
      .raw()
      .toBuffer();
  const [a, b] = await Promise.all([pixels(part), pixels(without)]);
  let most = 0;
  a.forEach((v, i) => (most = Math.max(most, Math.abs(v - b[i]!))));
  return most;
}

test("every lifting pin has a ring where its end was seen, and one that is missing a sign where it should be", async () => {
  const angles = [20, 110, 200, 290];
  const states = ["whole", "off", "missing", "whole"] as const;
  const part: PartRecord = {
    ...plain,
    pins: {
      count: 4,
      circle_diameter_mm: { value: 30, u: 0.03 },
      pin_diameter_mm: { value: 1.2, u: 0.05 },
      places: angles.map((angle_deg, i) => ({ angle_deg, state: states[i]!, end_px: on(angle_deg, 15.4) })),
    },
  };
  for (const angle of angles) expect(await changed(part, plain, on(angle, 15.4), 14)).toBeGreaterThan(60);
  // Between the pins nothing is drawn.
  expect(await changed(part, plain, on(65, 15.4), 40)).toBe(0);
  const svg = drawOverlay(photoWith(part));
  expect(svg).toContain("4 lifting pins");
  expect(svg).toContain("pins missing: 1");
  expect(svg).toContain("pins out of place: 1");
});

test("walls and floor of every notch are drawn, and a cross where one is filled", async () => {
  const radiusMm = plain.tip_diameter_mm!.value / 2;
  const part: PartRecord = {
    ...plain,
    kind: "count-wheel",
    notches: {
      notches: [30, 120].map((angle_deg) => ({
        angle_deg,
        width_mm: 2,
        depth_mm: 2.5,
        state: "whole" as const,
      })),
      blows_per_turn: 78,
      blows: [1, 2],
      missing: [{ angle_deg: 250, after_blows: 7 }],
      extra: [],
      probability: 0.9,
    },
  };
  // Closed form: the wall half the width beside the middle, the floor the depth below the rim.
  const beside = (1 / radiusMm) * (180 / Math.PI);
  for (const angle of [30, 120]) {
    expect(await changed(part, plain, on(angle, radiusMm - 2.5), 8)).toBeGreaterThan(60);
    for (const side of [-1, 1])
      expect(await changed(part, plain, on(angle + side * beside, radiusMm - 1), 10)).toBeGreaterThan(60);
  }
  expect(await changed(part, plain, on(250, radiusMm), 12)).toBeGreaterThan(60);
  expect(await changed(part, plain, on(200, radiusMm - 1.5), 30)).toBe(0);
  expect(drawOverlay(photoWith(part))).toContain("no notch after 7 blows");
});

test("holes of a plate are drawn with their numbers, and an oval one shows which way it is long", async () => {
  const holeAt = (
    id: string,
    at: readonly [number, number],
    oval: number,
    deg: number,
  ): NonNullable<PartRecord["holes"]>[number] => ({
    id,
    kind: "pivot",
    centre_px: [...at],
    centre_mm: [0, 0],
    diameter_mm: { value: 3, u: 0.02 },
    ovality_mm: { value: oval, u: 0.02 },
    ...(oval > 0.04 ? { ovality_angle_deg: { value: deg, u: 3 } } : {}),
    edge_px: Array.from({ length: 48 }, (_, k) => {
      const t = (k * Math.PI) / 24;
      return [at[0] + 18 * Math.cos(t), at[1] - 18 * Math.sin(t)];
    }),
  });
  const round = [1700, 1400] as const;
  const worn = [2300, 1400] as const;
  const { id, centre_px } = plain;
  const bare: PartRecord = { id, kind: "plate", centre_px, findings: [], holes: [] };
  const part: PartRecord = {
    ...bare,
    holes: [holeAt("H1", round, 0.01, 0), holeAt("H2", worn, 0.15, 45)],
    findings: [{ code: "hole-oval", severity: "watch", text: "pivot hole H2 is worn oval by 0.15 mm" }],
  };
  for (const at of [round, worn]) {
    expect(await changed(part, bare, [at[0] + 18, at[1]], 4)).toBeGreaterThan(60);
    // The middle stays free.
    expect(await changed(part, bare, at, 8)).toBe(0);
  }
  // Up and to the right in the picture, and nothing across; of the round hole nowhere.
  const off = 18 + 22;
  const at45 = (p: readonly [number, number], sx: number): [number, number] => [
    p[0] + sx * off * Math.SQRT1_2,
    p[1] - off * Math.SQRT1_2,
  ];
  expect(await changed(part, bare, at45(worn, 1), 8)).toBeGreaterThan(60);
  expect(await changed(part, bare, at45(worn, -1), 8)).toBe(0);
  expect(await changed(part, bare, at45(round, 1), 8)).toBe(0);
  const svg = drawOverlay(photoWith(part));
  for (const text of [">H1<", ">H2<", "2 holes, 1 worn oval"]) expect(svg).toContain(text);
});
