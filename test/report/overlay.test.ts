import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import sharp, { type OutputInfo } from "sharp";
import fc from "fast-check";
import { afterAll, expect, test } from "vitest";
import { recordPart, recordPhoto, type PartRecord, type PhotoRecord } from "../../src/record/index.js";
import { drawAnnotatedPhoto, drawOverlay } from "../../src/report/index.js";
import { partFrame } from "../../src/report/overlay/frame.js";
import { placeBeside } from "../../src/report/overlay/place-boxes.js";
import { inventedPart, inventedPhoto, inventedView, type InventedWheel } from "../record/invented-part.js";

const folder = mkdtempSync(join(tmpdir(), "overlay-"));
afterAll(() => rmSync(folder, { recursive: true }));

const wheel: InventedWheel = {
  id: "W1",
  label: "T2",
  count: 64,
  moduleMm: 0.9,
  centrePx: [1500, 1400],
  missing: [12, 13],
  bent: [30],
  eccentricityMm: 0.11,
};
const photoOf = (...wheels: InventedWheel[]): PhotoRecord =>
  recordPhoto(inventedPhoto(), inventedView, wheels.map(inventedPart), [], {});

/** Renders with a strict XML parser: a document that is not well-formed is refused. */
const render = (svg: string): Promise<{ data: Buffer; info: OutputInfo }> =>
  sharp(Buffer.from(svg))
    .flatten({ background: "#000" })
    .greyscale()
    .raw()
    .toBuffer({ resolveWithObject: true });

test("the drawing is well-formed, as big as the photograph, and stays so with hostile names", async () => {
  const labels = [
    `</text><script>alert(1)</script>`,
    `" onload="alert(1)`,
    `]]>&#x0;&lt;`,
    "\u0000\u0008\uFFFE\uD800 lone",
    "\u202Egpj.elohw",
    "x".repeat(10_000),
    "ساعة 🕰️ 時計",
    "",
  ];
  for (const label of labels) {
    const svg = drawOverlay(photoOf({ ...wheel, label, id: label }));
    const { info } = await render(svg);
    expect([info.width, info.height]).toEqual([4032, 3024]);
    expect(svg).not.toMatch(/<script|onload="|\u202E/);
    expect(svg.length).toBeLessThan(60_000);
  }
});

test("every tooth has its tick, the first its wedge, every fifth its number", () => {
  const svg = drawOverlay(photoOf(wheel), { cards: false });
  const ticks = /<path d="((?:M[\d.,-]+l[\d.,-]+){20,})"/.exec(svg)![1]!;
  // 64 places less two missing teeth.
  expect(ticks.split("M").length - 1).toBe(62);
  const texts = [...svg.matchAll(/<text[^>]*>([^<]*)<\/text>/g)].map((m) => m[1]);
  // 10 gives way to 12–13, and 30 is named as bent.
  for (const number of ["1", "5", "20", "25", "35", "60", "12–13", "30"]) expect(texts).toContain(number);
  expect(texts.filter((t) => t === "30")).toHaveLength(1);
});

test("missing and bent teeth differ in shape, and the card names them", () => {
  const sound = drawOverlay(photoOf({ ...wheel, missing: [], bent: [] }));
  const damaged = drawOverlay(photoOf(wheel));
  const crossed = (svg: string) => (svg.match(/<circle[^>]*><\/circle><path/g) ?? []).length;
  // One sign for each missing tooth, and one in the card.
  expect(crossed(damaged) - crossed(sound)).toBe(3);
  expect(damaged).toContain("missing: 12–13");
  expect(damaged).toContain("bent: 30");
  expect(sound).not.toContain("missing");
});

test("a circle is drawn where it was measured: (0, 0) is the centre of the top-left pixel", async () => {
  const centre = [300.25, 210.75] as const;
  const part: PartRecord = {
    id: "W1",
    kind: "wheel",
    centre_px: [...centre],
    findings: [],
    outline: {
      tip_circle_px: Array.from({ length: 90 }, (_, i) => {
        const a = (i * Math.PI) / 45;
        return [centre[0] + 120 * Math.cos(a), centre[1] + 120 * Math.sin(a)] as const;
      }),
      root_circle_px: [],
      pitch_circle_px: [],
    },
  };
  const photo: PhotoRecord = {
    ...photoOf(),
    width_px: 640,
    height_px: 480,
    scale: { source: "none" },
    parts: [part],
  };
  const { data, info } = await render(drawOverlay(photo, { cards: false }));
  let [weight, x, y] = [0, 0, 0];
  for (let row = 0; row < info.height; row++)
    for (let column = 0; column < info.width; column++) {
      const v = data[row * info.width + column]!;
      weight += v;
      x += v * column;
      y += v * row;
    }
  expect(weight).toBeGreaterThan(10_000);
  // Coordinates are written to 0.1 px; half a pixel would be five times that.
  expect(x / weight).toBeCloseTo(centre[0], 0.7);
  expect(Math.abs(x / weight - centre[0])).toBeLessThan(0.1);
  expect(Math.abs(y / weight - centre[1])).toBeLessThan(0.1);
});

test("wheel angles follow the sheet when it lies turned under the camera", () => {
  const part = recordPart(inventedPart(wheel), true);
  const turned: PartRecord = {
    ...part,
    teeth: {
      ...part.teeth!,
      places: part.teeth!.places!.map((place) => {
        const [dx, dy] = [place.tip_px[0] - part.centre_px[0], place.tip_px[1] - part.centre_px[1]];
        // A quarter turn clockwise in the picture.
        return { ...place, tip_px: [part.centre_px[0] - dy, part.centre_px[1] + dx] as const };
      }),
    },
  };
  const r = (0.9 * 66.76 * 12) / 2;
  // Unturned, 0 degrees points right and 90 up the picture; turned, 0 points down and 90 right.
  const upright = partFrame(part);
  expect(upright.at(0)[0]).toBeCloseTo(r, 1);
  expect(upright.at(90)[1]).toBeCloseTo(-r, 1);
  expect(partFrame(turned).at(0)[1]).toBeCloseTo(r, 1);
  expect(partFrame(turned).at(90)[0]).toBeCloseTo(r, 1);
});

test("the arrow states its magnification, and is not drawn when nothing was found", () => {
  // 0.11 mm on a radius of 30.04 mm: times 100 is 37 % of it, times 200 would be more than 42 %.
  expect(drawOverlay(photoOf(wheel))).toContain("0.11 mm ×100");
  // 0.02 mm with a standard uncertainty of 0.012 mm is not above 0.024 mm.
  expect(drawOverlay(photoOf({ ...wheel, eccentricityMm: 0.02 }))).not.toContain("×");
});

test("the scale bar is as long as it says, in the plane of the part", () => {
  const svg = drawOverlay(photoOf(wheel));
  expect(svg).toContain("50 mm in the plane of T2");
  // Four steps of 12.5 mm at 12 px/mm.
  const steps = [...svg.matchAll(/<rect[^>]* width="150"/g)];
  expect(steps).toHaveLength(4);
  expect(drawOverlay({ ...photoOf(), scale: { source: "none" } })).not.toContain(" mm ");
});

test("cards keep off the parts where there is room", () => {
  const picture = { x: 0, y: 0, width: 4000, height: 3000 };
  let placed = 0;
  fc.assert(
    fc.property(
      fc.array(fc.record({ x: fc.integer({ min: 0, max: 3 }), y: fc.integer({ min: 0, max: 2 }) }), {
        minLength: 1,
        maxLength: 6,
      }),
      (cells) => {
        const discs = [...new Map(cells.map((c) => [`${c.x} ${c.y}`, c])).values()].map((c) => ({
          centre: [500 + 1000 * c.x, 500 + 1000 * c.y] as const,
          radius: 260,
        }));
        const taken: { x: number; y: number; width: number; height: number }[] = [];
        for (const disc of discs) {
          const box = placeBeside({ width: 420, height: 200 }, disc, picture, discs, taken);
          for (const other of discs) {
            const dx = Math.max(box.x - other.centre[0], 0, other.centre[0] - box.x - box.width);
            const dy = Math.max(box.y - other.centre[1], 0, other.centre[1] - box.y - box.height);
            expect(Math.hypot(dx, dy)).toBeGreaterThan(other.radius - 3);
          }
          expect(box.x).toBeGreaterThanOrEqual(0);
          expect(box.x + box.width).toBeLessThanOrEqual(picture.width);
          taken.push(box);
          placed++;
        }
      },
    ),
    { seed: 4, numRuns: 60 },
  );
  expect(placed).toBeGreaterThan(100);
});

test("a pinion on the arbor of a wheel is named on the wheel's card", () => {
  const photo = photoOf(wheel, { ...wheel, id: "W2", count: 8, moduleMm: 0.6, missing: [], bent: [] });
  const [of, pinion] = photo.parts as [PartRecord, PartRecord];
  const onArbor: PhotoRecord = { ...photo, parts: [of, { ...pinion, kind: "pinion", on_arbor_of: of.id }] };
  const cards = (svg: string): number => svg.split(">T2<").length - 1;
  expect(cards(drawOverlay(photo))).toBe(2);
  expect(cards(drawOverlay(onArbor))).toBe(1);
  expect(drawOverlay(onArbor)).toContain("pinion, 8 leaves");
  // Shown by itself it has a card of its own.
  expect(cards(drawOverlay(onArbor, { only: "W2" }))).toBe(1);
});

test("the annotated copy is upright and carries no place, no serial number, no metadata", async () => {
  const path = join(folder, "turned.jpg");
  const rgb = await sharp({ create: { width: 400, height: 300, channels: 3, background: "#806020" } })
    .jpeg()
    .withMetadata({
      orientation: 6,
      exif: {
        IFD0: { Make: "Invented" },
        IFD2: { BodySerialNumber: "SN-12345" },
        IFD3: { GPSLatitude: "51/1 30/1 0/1" },
      },
    })
    .toBuffer();
  writeFileSync(path, rgb);
  expect(rgb.includes("SN-12345")).toBe(true);
  // Orientation 6: the camera was held upright, 300 wide and 400 high.
  const record: PhotoRecord = { ...photoOf(), width_px: 300, height_px: 400 };
  const copy = await drawAnnotatedPhoto(path, record);
  const metadata = await sharp(copy).metadata();
  expect([metadata.width, metadata.height, metadata.format]).toEqual([300, 400, "jpeg"]);
  expect(metadata.exif ?? metadata.xmp ?? metadata.iptc).toBeUndefined();
  expect(copy.includes("SN-12345")).toBe(false);
});

test("a photograph of another size than the one measured is refused", async () => {
  const photo = { ...inventedPhoto(), widthPx: 2, heightPx: 2, rgb: new Uint8Array(12) };
  await expect(drawAnnotatedPhoto(photo, photoOf())).rejects.toThrow(
    /2 x 2 px, but measured at 4032 x 3024 px/,
  );
});
