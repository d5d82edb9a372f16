import fc from "fast-check";
import { expect, test } from "vitest";
import {
  cuttingSheet,
  drawOutlineDxf,
  drawOutlineSvg,
  drawSheetHtml,
  indexingFor,
  indexingLines,
  sheetOutlineMm,
} from "../../src/trains/index.js";
import { gearOutlineMm } from "../../src/trains/cutting/gear-outline.js";
import {
  driveBothWaysForm,
  drivenPinionForm,
  drivingWheelForm,
  wheelFactors,
} from "../../src/trains/cutting/tooth-form.js";
import { toothProfile } from "../scenes/tooth-profile.js";
import { movementOf } from "./evaluated.js";

// BS 978-2:1952, addendum factors f_a and f_r as printed (tables as carried by an open CAD library; the standard
// itself not read). Columns: ratios.
const ratios = [3, 4, 5, 6, 7, 8, 9, 10, 11, 12];
const printedFa: Readonly<Record<number, readonly number[]>> = {
  6: [1.259, 1.28, 1.293, 1.303, 1.31, 1.315, 1.32, 1.322, 1.326, 1.328],
  7: [1.335, 1.359, 1.374, 1.385, 1.393, 1.399, 1.404, 1.408, 1.411, 1.414],
  8: [1.403, 1.43, 1.447, 1.459, 1.468, 1.475, 1.48, 1.484, 1.488, 1.491],
  10: [1.523, 1.554, 1.574, 1.588, 1.599, 1.607, 1.613, 1.618, 1.623, 1.626],
  12: [1.626, 1.661, 1.684, 1.7, 1.712, 1.721, 1.728, 1.734, 1.739, 1.743],
  16: [1.801, 1.843, 1.87, 1.889, 1.903, 1.914, 1.923, 1.929, 1.935, 1.94],
};
const printedFr: Readonly<Record<number, readonly number[]>> = {
  6: [1.855, 1.886, 1.906, 1.92, 1.93, 1.938, 1.944, 1.949, 1.954, 1.957],
  10: [2.244, 2.29, 2.32, 2.341, 2.356, 2.368, 2.377, 2.385, 2.391, 2.397],
  16: [2.654, 2.715, 2.756, 2.784, 2.804, 2.82, 2.833, 2.844, 2.852, 2.859],
};

test("addendum and flank factors give back the tables of BS 978-2:1952", () => {
  let cells = 0;
  for (const [table, key, tolerance] of [
    [printedFa, "fa", 0.001],
    [printedFr, "fr", 0.0015],
  ] as const)
    for (const [leaves, row] of Object.entries(table))
      row.forEach((printed, i) => {
        const own = wheelFactors(Number(leaves) * ratios[i]!, Number(leaves))[key];
        expect(Math.abs(own - printed), `${key} ${leaves} ${ratios[i]}`).toBeLessThan(tolerance);
        cells++;
      });
  expect(cells).toBe(90);
});

const polar = (xy: Float64Array) =>
  Array.from({ length: xy.length / 2 }, (_, i) => {
    const [x, y] = [xy[2 * i]!, xy[2 * i + 1]!];
    return { radius: Math.hypot(x, y), angle: Math.atan2(y, x), x, y };
  });

const areaOf = (points: readonly { x: number; y: number }[]): number =>
  points.reduce((sum, { x, y }, i) => {
    const next = points[(i + 1) % points.length]!;
    return sum + (x * next.y - y * next.x) / 2;
  }, 0);

test("outlines keep tip, root and thickness of their form, and go round once counter-clockwise", () => {
  const cases = [
    [60, drivingWheelForm(60, 8)],
    [36, drivingWheelForm(36, 12)],
    [8, drivenPinionForm(8, 64)],
    [6, drivenPinionForm(6, 60)],
    [12, drivenPinionForm(12, 96)],
    [40, driveBothWaysForm(40, 40)!],
  ] as const;
  for (const [count, form] of cases) {
    const m = 0.8;
    const points = polar(gearOutlineMm(count, m, form));
    const radii = points.map(({ radius }) => radius);
    expect(Math.max(...radii)).toBeCloseTo((m * count) / 2 + form.addendum * m, 9);
    expect(Math.min(...radii)).toBeCloseTo((m * count) / 2 - form.dedendum * m, 9);
    const turn = points.reduce((sum, { angle }, i) => {
      const step = points[(i + 1) % points.length]!.angle - angle;
      return sum + Math.atan2(Math.sin(step), Math.cos(step));
    }, 0);
    expect(turn).toBeCloseTo(2 * Math.PI, 9);
    expect(areaOf(points)).toBeGreaterThan(0);
    // Where the outline crosses the pitch circle a tooth is as thick as the form says.
    const top = points
      .filter(({ radius }) => Math.abs(radius - (m * count) / 2) < 1e-9)
      .map(({ angle }) => Math.abs(angle - Math.PI / 2));
    expect(2 * Math.min(...top) * ((m * count) / 2)).toBeCloseTo(form.thickness * m, 9);
  }
});

/** Of a point from a closed polygon. */
const distanceTo = (xy: Float64Array, x: number, y: number): number => {
  let least = Infinity;
  for (let i = 0; i < xy.length; i += 2) {
    const j = (i + 2) % xy.length;
    const [dx, dy] = [xy[j]! - xy[i]!, xy[j + 1]! - xy[i + 1]!];
    const t = Math.max(
      0,
      Math.min(1, ((x - xy[i]!) * dx + (y - xy[i + 1]!) * dy) / (dx * dx + dy * dy || 1)),
    );
    least = Math.min(least, Math.hypot(x - xy[i]! - t * dx, y - xy[i + 1]! - t * dy));
  }
  return least;
};

test("wheel teeth agree with the renderer's, written apart, to a micrometre at module 1", () => {
  for (const [teeth, leaves] of [
    [60, 8],
    [96, 12],
    [48, 6],
  ] as const) {
    const outline = gearOutlineMm(teeth, 1, drivingWheelForm(teeth, leaves));
    const { points, rootRadiusMm } = toothProfile("cycloidal", teeth, 1, { leaves, rake: 1 });
    let compared = 0;
    for (let i = 0; i < points.length; i += 2) {
      const radius = points[i + 1]!;
      // The corners at the root are each one's own choice.
      if (radius < rootRadiusMm + 0.25) continue;
      const angle = Math.PI / 2 + points[i]!;
      expect(distanceTo(outline, radius * Math.cos(angle), radius * Math.sin(angle))).toBeLessThan(0.001);
      compared++;
    }
    expect(compared).toBeGreaterThan(30);
  }
});

const yaml = (third: string, more = "") => `trains:
  time:
    arbors:
      great: { wheel: 96 }
      centre: { pinion: 8, wheel: 64, hand: minute }
      third: { pinion: 8, wheel: ${third} }
      escape: { pinion: 8, escape wheel: 30${more} }
`;
const sized = movementOf(yaml("{ teeth: 60, module: 0.8 ± 0.005 mm }"));

test("blank (N + 2 f_a) m, root (N - pi) m, depth and their uncertainties", () => {
  const sheet = cuttingSheet(sized, "time.third.wheel");
  // 60 teeth into 8 leaves: ratio 7.5, printed f_a 1.471.
  expect(Math.abs(sheet.tooth!.blankDiameterMm.value - (60 + 2 * 1.471) * 0.8)).toBeLessThan(0.0016);
  expect(sheet.tooth!.rootDiameterMm.value).toBeCloseTo((60 - Math.PI) * 0.8, 9);
  expect(sheet.tooth!.depthMm.value).toBeCloseTo(
    (sheet.tooth!.blankDiameterMm.value - sheet.tooth!.rootDiameterMm.value) / 2,
    9,
  );
  expect(sheet.pitchDiameterMm.u).toBeCloseTo(60 * 0.005, 9);
  expect(sheet.pitchAngleDeg).toBe(6);
  // Its mate takes the module from it.
  expect(cuttingSheet(sized, "time.escape.pinion").moduleMm.value).toBe(0.8);
});

test("refuses what cannot be cut from what the file says, and says what to add", () => {
  const bare = movementOf(yaml("60"));
  const cases: readonly [string, RegExp][] = [
    ["time.third.wheel", /no size is known.*module: 0.8 mm/],
    ["time.third.whel", /did you mean "time.third.wheel"/],
    ["time.escape.escape wheel", /escape wheel's teeth follow from its pallets/],
  ];
  for (const [position, words] of cases) expect(() => cuttingSheet(bare, position)).toThrow(words);
  const lost = movementOf(yaml("?"));
  expect(() => cuttingSheet(lost, "time.third.wheel")).toThrow(/not known.*--change "time.third.wheel=/);
  expect(() => cuttingSheet(sized, "time.third.wheel", { profile: "A" })).toThrow(/only driven/);
});

test("tells when sizes do not agree, and when a count is only a photograph's", () => {
  const apart = movementOf(yaml("{ teeth: 60, module: 0.8 ± 0.005 mm }", ", centre distance: 30 ± 0.05 mm"));
  expect(cuttingSheet(apart, "time.third.wheel").warnings.join()).toMatch(/do not agree, measure again/);
  const seen = movementOf(yaml("{ seen: { 60: 0.9, 61: 0.1 }, module: 0.8 mm }"));
  expect(cuttingSheet(seen, "time.third.wheel").warnings.join()).toMatch(
    /probability of 90 %.*count it by hand/,
  );
  expect(cuttingSheet(sized, "time.third.wheel").warnings).toEqual([]);
});

/** Code and value pairs of an ASCII DXF. */
const pairsOf = (dxf: string): readonly (readonly [number, string])[] => {
  const lines = dxf.split("\r\n");
  return Array.from(
    { length: Math.floor(lines.length / 2) },
    (_, i) => [Number(lines[2 * i]), lines[2 * i + 1]!] as const,
  );
};

test("the DXF read back is the outline, closed, in mm", () => {
  for (const position of ["time.third.wheel", "time.escape.pinion"]) {
    const sheet = cuttingSheet(sized, position);
    const pairs = pairsOf(drawOutlineDxf(sheet)!);
    expect(pairs.at(-1)).toEqual([0, "EOF"]);
    expect(pairs.some(([code, value]) => code === 1 && value === "AC1009")).toBe(true);
    const vertices: { x: number; y: number }[] = [];
    pairs.forEach(([code, value], i) => {
      if (code !== 0 || value !== "VERTEX") return;
      const [, x, y] = pairs.slice(i + 1, i + 4);
      expect([x![0], y![0]]).toEqual([10, 20]);
      vertices.push({ x: Number(x![1]), y: Number(y![1]) });
    });
    const outline = sheetOutlineMm(sheet)!;
    expect(vertices).toHaveLength(outline.length / 2);
    // Six decimals.
    vertices.forEach(({ x, y }, i) => {
      expect(Math.abs(x - outline[2 * i]!)).toBeLessThan(6e-7);
      expect(Math.abs(y - outline[2 * i + 1]!)).toBeLessThan(6e-7);
    });
    expect(areaOf(vertices)).toBeCloseTo(areaOf(polar(outline)), 3);
    const flags = pairs[pairs.findIndex(([, value]) => value === "POLYLINE") + 3];
    expect(flags).toEqual([70, "1"]);
  }
});

test("the SVG is at true size: its units are mm and the outline is as wide as the blank", () => {
  const sheet = cuttingSheet(sized, "time.third.wheel");
  const svg = drawOutlineSvg(sheet)!;
  const [, width, height, box] = /width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d. ]+)"/.exec(svg)!;
  expect(box).toBe(`${width} ${height}`);
  const ys = [.../id="outline" d="M([^Z]+)Z"/.exec(svg)![1]!.matchAll(/[\d.]+ ([\d.]+)/g)].map(([, y]) =>
    Number(y),
  );
  // A tooth at the top, and with 60 teeth one at the bottom.
  expect(Math.max(...ys) - Math.min(...ys)).toBeCloseTo(sheet.tooth!.blankDiameterMm.value, 3);
  const [, from, to] = /id="bar" d="M([\d.]+) [\d.]+H([\d.]+)/.exec(svg)!;
  expect(Number(to) - Number(from)).toBeCloseTo(50, 9);
  expect(svg).toContain("Check against the mating part before cutting.");
});

test("a hostile name stays text on sheet and drawing", () => {
  const evil = movementOf(
    yaml("60")
      .replace("third:", `"<script>x</script>":`)
      .replace("wheel: 64", "wheel: { teeth: 64, module: 1 mm }"),
  );
  const sheet = cuttingSheet(evil, "time.<script>x</script>.pinion");
  for (const text of [drawSheetHtml(sheet), drawOutlineSvg(sheet)!, drawOutlineDxf(sheet)!])
    expect(text).toContain("script");
  expect(drawSheetHtml(sheet)).not.toContain("<script");
  expect(drawOutlineSvg(sheet)).not.toContain("<script");
});

test("indexing against trying every hole", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 2, max: 150 }),
      fc.integer({ min: 2, max: 150 }),
      fc.constantFrom(1, 40, 60),
      (count, holes, handleTurns) => {
        const { exact, inexact } = indexingFor(count, [holes], handleTurns);
        const places = holes * handleTurns;
        // All steps that bring the work round in `count` of them.
        const steps = Array.from({ length: places }, (_, i) => i + 1).filter(
          (step) => step * count === places,
        );
        expect(exact.map(({ turns, holesOn }) => turns * holes + holesOn)).toEqual(steps);
        if (steps.length > 0) return;
        const errors = Array.from({ length: count }, (_, k) => {
          const place = (k * places) / count;
          return Math.abs(place - Math.round(place)) * ((2 * Math.PI) / places);
        });
        expect(inexact[0]!.largestErrorRad).toBeCloseTo(Math.max(...errors), 9);
        for (const near of inexact[0]!.nearestCounts) expect(places % near).toBe(0);
      },
    ),
    { seed: 9, numRuns: 200 },
  );
});

test("a plate without a fitting row gives no holes", () => {
  const lines = indexingLines(indexingFor(64, [60, 66, 72, 120]));
  expect(lines[0]).toMatch(/none of the rows named divides 64/);
  expect(lines.join()).not.toMatch(/advance/);
  expect(indexingLines(indexingFor(64, [96, 128]))).toEqual(["row of 128: advance 2 holes for each tooth"]);
  expect(() => indexingFor(64, [0])).toThrow(RangeError);
});
