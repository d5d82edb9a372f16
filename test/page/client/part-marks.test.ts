import { h } from "preact";
import { renderToString } from "preact-render-to-string";
import { expect, test } from "vitest";
import { FittingMarks } from "../../../src/page/client/photo/fitting-marks.js";
import { ToothTicks } from "../../../src/page/client/photo/tooth-ticks.js";
import type { PartRecord } from "../../../src/record/index.js";

type Point = [number, number];

/** Counter-clockwise from x, as pictures have y down. */
const circle = ([x, y]: Point, radius: number): Point[] =>
  Array.from({ length: 72 }, (_, i) => {
    const t = (i * Math.PI) / 36;
    return [x + radius * Math.cos(t), y - radius * Math.sin(t)];
  });

const blank = { id: "part-1", centre_px: [500, 400] as Point, findings: [] };

const pathsOf = (markup: string, className: string): string[] =>
  [...markup.matchAll(/<path class="([^"]*)" d="([^"]*)"/g)]
    .filter((match) => match[1] === className)
    .map((match) => match[2]!)
    .filter((d) => d !== "");

test("the oval hole of a plate is named, and both ends of its longest diameter are marked", () => {
  const hole = (id: string, at: Point, oval: number): NonNullable<PartRecord["holes"]>[number] => ({
    id,
    centre_px: at,
    centre_mm: [0, 0],
    diameter_mm: { value: 2, u: 0.02 },
    ovality_mm: { value: oval, u: 0.02 },
    ovality_angle_deg: { value: 90, u: 5 },
    edge_px: circle(at, 20),
  });
  const part: PartRecord = {
    ...blank,
    kind: "plate",
    holes: [hole("H1", [500, 400], 0.02), hole("H2", [700, 400], 0.2)],
  };
  const markup = renderToString(h(FittingMarks, { part, zoom: 1 }));
  expect(markup).toMatch(/>H1<.*>H2</);
  const [ends] = pathsOf(markup, "tick odd");
  // Upwards and downwards from H2, outside its edge; nothing at H1, which is round as far as can be told.
  expect(ends).toBe("M700 378L700 366M700 422L700 434");
});

test("a pin out of its place looks different from one that is right; one never seen has no ring", () => {
  const part: PartRecord = {
    ...blank,
    kind: "wheel",
    pins: {
      count: 3,
      places: [
        { angle_deg: 0, state: "whole", end_px: [600, 400] },
        { angle_deg: 120, state: "off", end_px: [450, 313] },
        { angle_deg: 240, state: "unseen" },
      ],
    },
  };
  const markup = renderToString(h(FittingMarks, { part, zoom: 0.5 }));
  expect(pathsOf(markup, "tip")).toEqual([expect.stringMatching(/^M588\.0 400\.0a12 12[^M]*$/)]);
  expect(pathsOf(markup, "tick odd")).toEqual([expect.stringMatching(/^M438\.0 313\.0a12 12[^M]*$/)]);
});

test("notches are drawn into the rim, and the place of one that is wanting", () => {
  const part: PartRecord = {
    ...blank,
    kind: "count-wheel",
    tip_diameter_mm: { value: 40, u: 0.1 },
    outline: { tip_circle_px: circle([500, 400], 200), root_circle_px: [], pitch_circle_px: [] },
    notches: {
      notches: [{ angle_deg: 0, width_mm: 4, depth_mm: 5, state: "whole" }],
      blows_per_turn: 78,
      blows: [1],
      missing: [{ angle_deg: 90, after_blows: 3 }],
      extra: [],
      probability: 0.99,
    },
  };
  const markup = renderToString(h(FittingMarks, { part, zoom: 1 }));
  // 4 mm wide and 5 mm deep: from 200 px to 150 px of the radius, 20 px up and down.
  const [notch] = pathsOf(markup, "tip");
  const points = [...notch!.matchAll(/(-?[\d.]+) (-?[\d.]+)/g)].map((m) => [
    Number(m[1]) - 500,
    Number(m[2]) - 400,
  ]);
  expect(points).toHaveLength(4);
  for (const [i, [x, y]] of points.entries()) {
    expect(Math.hypot(x!, y!)).toBeCloseTo(i === 0 || i === 3 ? 200 : 150, 0);
    // To the nearest of 72 points of the outline, 5 degrees apart.
    expect(Math.abs(Math.abs(y!) - 20)).toBeLessThan(9);
  }
  expect(pathsOf(markup, "tick odd")).toEqual(["M500 212L500 188"]);
});

test("ticks of all teeth are three paths: an element for each took a tenth of a second on a tray of wheels", () => {
  const places = circle([0, 0], 100).map((tip_px, i) => ({
    number: i + 1,
    angle_deg: i * 5,
    state: i === 4 ? ("missing" as const) : ("whole" as const),
    tip_px,
  }));
  const markup = renderToString(h(ToothTicks, { places, centre: [0, 0] as const, px: 1, chosen: 1 }));
  const count = (className: string): number =>
    pathsOf(markup, className).reduce((sum, d) => sum + d.split("M").length - 1, 0);
  expect(count("tick")).toBe(70);
  expect(count("tick odd")).toBe(2);
  expect(count("halo")).toBe(72);
  expect(markup.match(/<path/g)).toHaveLength(3);
});
