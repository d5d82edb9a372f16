import { render } from "preact-render-to-string";
import { expect, test } from "vitest";
import { recordPhoto, type SetRecord, type SurveyDocument } from "../../src/record/index.js";
import { plainWords, type Block } from "../../src/report/content/content.js";
import { setsSection } from "../../src/report/content/sets-section.js";
import { arborRunoutPlot, axialRunoutPlot } from "../../src/report/plots/arbor-runout-plot.js";
import { centrePathPlot } from "../../src/report/plots/centre-path-plot.js";
import { inventedPart, inventedPhoto, inventedView } from "../record/invented-part.js";

const wheel = inventedPart({ id: "W1", label: "T2", count: 64, moduleMm: 0.7, centrePx: [2000, 1500] });
const photo = recordPhoto(inventedPhoto(), inventedView, [wheel], [], {});
// A centre that runs on a circle of 0.1 mm about (3, -2): positions by hand.
const turn: SetRecord = {
  kind: "turn",
  label: "T2",
  photos: [photo.file, "b.jpg", "c.jpg", "d.jpg"],
  eccentricity_mm: { value: 0.1, u: 0.004 },
  eccentricity_angle_deg: { value: 0, u: 3 },
  radial_runout_mm: { value: 0.2, u: 0.008 },
  axis_mm: [3, -2],
  positions: [
    { file: photo.file, part_id: "W1", turn_deg: 0, centre_mm: [3.1, -2] },
    { file: "b.jpg", part_id: "W1", turn_deg: 90, centre_mm: [3, -1.9] },
    { file: "c.jpg", part_id: "W1", turn_deg: 180, centre_mm: [2.9, -2] },
    { file: "d.jpg", part_id: "W1", turn_deg: 270, centre_mm: [3.4, -2.3], left_out: "the arbor had moved" },
  ],
};
const survey = (sets: readonly SetRecord[]): SurveyDocument =>
  ({ measurement: { photos: [photo], sets } }) as unknown as SurveyDocument;

const numbers = (svg: string, attribute: string): number[] =>
  [...svg.matchAll(new RegExp(`<circle[^>]* ${attribute}="([^"]+)"`, "g"))].map((m) => Number(m[1]));

test("the path is drawn to the scale that is written on it, y up", () => {
  const plot = centrePathPlot(turn, 23)!;
  const svg = render(plot.drawing);
  expect(svg).toContain(`magnified × ${plot.magnification}`);
  const perMm = (plot.magnification * 180) / 23;
  // First the fitted circle, then the four places.
  expect(numbers(svg, "r")[0]).toBeCloseTo(0.1 * perMm, 0);
  const [, x1, x2, x3] = numbers(svg, "cx");
  const [, y1, y2] = numbers(svg, "cy");
  expect(x1! - 200).toBeCloseTo(0.1 * perMm, 0);
  expect(x2! - 200).toBeCloseTo(0, 0);
  expect(200 - y2!).toBeCloseTo(0.1 * perMm, 0);
  expect(y1!).toBeCloseTo(200, 0);
  expect(x3! - 200).toBeCloseTo(-0.1 * perMm, 0);
});

test("run-out in polar form: high and low point are 2 e apart in radius, at the magnification written", () => {
  const plot = arborRunoutPlot(turn, 23)!;
  const svg = render(plot.drawing);
  expect(svg).toContain(`deviations × ${plot.magnification}`);
  const [, high, low] = numbers(svg, "cx");
  const radii = [high! - 200, 200 - low!];
  // ISO 1101 (from memory): the run-out of a pure offset is twice the eccentricity.
  expect((radii[0]! - radii[1]!) / ((plot.magnification * 125) / 23)).toBeCloseTo(0.2, 2);
});

test("rise and fall of the rim in polar form: high and low point are the axial run-out apart, at the factor written", () => {
  const raised: SetRecord = {
    ...turn,
    axial_runout_mm: { value: 0.6, u: 0.1 },
    axial_high_angle_deg: { value: 180, u: 12 },
  };
  const plot = axialRunoutPlot(raised, 23)!;
  const svg = render(plot.drawing);
  expect(svg).toContain(`deviations × ${plot.magnification}`);
  expect(svg).toContain("axial run-out 0.60 mm");
  const [, high, low] = numbers(svg, "cx");
  // Highest to the left.
  expect((200 - high! - (low! - 200)) / ((plot.magnification * 125) / 23)).toBeCloseTo(0.6, 2);
  expect(axialRunoutPlot(turn, 23)).toBeUndefined();
});

test("nothing is drawn of a wheel that is not off its axis, or of one photograph", () => {
  expect(
    arborRunoutPlot({ kind: "turn", photos: [], eccentricity_mm: { value: 0, u: 0.01 } }, 23),
  ).toBeUndefined();
  expect(centrePathPlot({ kind: "turn", photos: [] }, 23)).toBeUndefined();
});

test("the section states value, ± (k = 2), limit and verdict; none without sets", () => {
  expect(setsSection(survey([]))).toBeUndefined();
  const play: SetRecord = {
    kind: "play",
    photos: [photo.file, "b.jpg"],
    radial_play_mm: { value: 0.08, u: 0.01 },
    detection_limits: { radial_play_mm: 0.04 },
    verdict: "loose",
  };
  const { blocks } = setsSection(survey([turn, play]))!;
  const text = (list: readonly Block[]): string =>
    list
      .map((b) =>
        b.kind === "facts" ? b.rows.map((r) => `${r.term}: ${plainWords(r.words)}`).join("\n") : "",
      )
      .join("\n")
      .replaceAll("\u00a0", " ");
  expect(text(blocks)).toContain("Eccentricity about the arbor: 0.1000 ± 0.0080 mm (k = 2)");
  expect(text(blocks)).toContain("Radial play: 0.080 ± 0.020 mm (k = 2); seen from 0.04 mm on");
  expect(text(blocks)).toContain("Verdict: loose");
  expect(blocks.filter((b) => b.kind === "pair")).toHaveLength(1);
});
