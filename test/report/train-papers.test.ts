import { PDFiumLibrary, type PDFiumDocument } from "@hyzyla/pdfium";
import { afterAll, beforeAll, expect, test } from "vitest";
import { evaluateTrains, type SurveyTrains } from "../../src/commands/report-trains.js";
import { prepareReport, renderHtml, renderPdf, type ComposedReport } from "../../src/report/index.js";
import { drawingOfSvg } from "../../src/report/plots/drawing-of-svg.js";
import { movementOf } from "../trains/evaluated.js";
import { inventedSurvey } from "./invented-survey.js";

/**
 * The invented survey's train (Encyclopaedia Britannica, 11th ed., 1911, vol. 6, Clock: 96, 64, 60, escape 30, pinions
 * of 8), its third pinion lost, a seconds pendulum there.
 */
const lostPinion = (escape = 30) => `
pendulum: { length: 994 ± 2 mm }
place: { latitude: 51.5 }
trains:
  time:
    power: { turns: 16 }
    arbors:
      great: { wheel: 96, tag: T1 }
      centre: { pinion: 8, wheel: 64, hand: minute, tag: T2 }
      third: { pinion: ?, wheel: 60, tag: T3 }
      escape: { pinion: 8, escape wheel: ${escape} }
motion work: { cannon pinion: 40, minute wheel: 40, minute pinion: 6, hour wheel: 72 }
`;

let trains: SurveyTrains;
let composed: ComposedReport;
let html: string;
let library: PDFiumLibrary;
let document: PDFiumDocument;

beforeAll(async () => {
  const { survey, photos } = await inventedSurvey();
  trains = await evaluateTrains(movementOf(lostPinion()), survey.measurement.photos);
  composed = await prepareReport({ ...survey, trains: trains.result }, (i) => Promise.resolve(photos[i]), {
    papers: trains.papers,
  });
  html = renderHtml(composed.content, composed.pictures);
  library = await PDFiumLibrary.init();
  const pdf = await renderPdf(composed.content, composed.pictures, {
    madeAt: new Date("2025-03-02T09:30:00Z"),
    software: "wheelsurvey test",
  });
  document = await library.loadDocument(pdf);
}, 60_000);
afterAll(() => {
  document.destroy();
  library.destroy();
});

const section = (id: string) => composed.content.sections.find((one) => one.id === id);

test("a lost pinion is solved from the pendulum, and said in the summary", () => {
  // 96, 64, 60 and 30 teeth with pinions of 8 beat seconds (the source above).
  expect(trains.papers.lost).toMatchObject([
    { words: ["the pinion of third (time)"], answers: [{ counts: [8], beatsPerHour: 3600 }] },
  ]);
  expect(JSON.stringify(section("summary"))).toContain("the train asks for 8");
});

test("a cutting sheet stands in the report, with its warning and its figures", () => {
  const sheet = html.slice(
    html.indexOf('<section id="replacements"'),
    html.indexOf('<section id="condition"'),
  );
  expect(sheet).toContain("Check against the mating part before cutting");
  expect(sheet).toMatch(/<dt>Leaves<\/dt><dd>.*?>8</);
  // Index angle of 8 leaves: 360/8.
  expect(sheet).toContain("45.000000°");
});

test("the outline is as large in the PDF as it says: its bar measures 50 mm", async () => {
  const pages = [...document.pages()];
  const page = pages.find((one) => one.getText().includes("This bar must measure 50 mm"))!;
  const scale = 4;
  const { data, width, height } = await page.render({ scale, render: "bitmap" });
  // Dark runs along a row that are neither text nor a rule of the page: the bar, 50 mm of 72/25.4 points.
  const wanted = (50 * 72 * scale) / 25.4;
  const runs = new Set<number>();
  for (let y = 0; y < height; y++) {
    let start = -1;
    for (let x = 0; x <= width; x++) {
      const at = 4 * (y * width + x);
      const dark = x < width && data[at]! + data[at + 1]! + data[at + 2]! < 480;
      if (dark && start < 0) start = x;
      if (!dark && start >= 0) {
        if (x - start > 150) runs.add(x - start);
        start = -1;
      }
    }
  }
  const bars = [...runs].filter((length) => length > wanted * 0.9 && length < wanted * 1.1);
  expect(bars.length).toBeGreaterThan(0);
  // A pixel here is 0.09 mm; the line's ends are square.
  for (const length of bars) expect(Math.abs(length - wanted)).toBeLessThan(3);
});

test("trains are drawn from the front and along the plates, each once", () => {
  const figures = (section("trains")?.blocks ?? []).filter((block) => block.kind === "figure");
  expect(figures.map(({ alt }) => alt.replace(/[:.].*$/, ""))).toEqual([
    "Time train, elevation",
    "Time train, plan",
    "Motion work, elevation",
  ]);
  // The lost pinion is dashed, and the words below say so.
  expect(JSON.stringify(figures[0]!.caption)).toContain("the count is not sure");
});

test("a wheel that does not belong is named as a fault", async () => {
  const { survey } = await inventedSurvey();
  // The photographs count 64 for T2 and 60 for T3: with 30 teeth the escape wheel would give the beats, with 28 none.
  const odd = `beats per hour: 3600
trains:
  time:
    arbors:
      centre: { wheel: ?, hand: minute, tag: T2 }
      third: { pinion: 8, wheel: ?, tag: T3 }
      escape: { pinion: 8, escape wheel: 28, tag: T9 }
`;
  const { result } = await evaluateTrains(movementOf(odd), survey.measurement.photos);
  const [finding] = result.findings;
  expect(finding).toMatchObject({ code: "photographs-disagree", severity: "fault" });
  expect(finding!.text).toContain("escape wheel of escape (time)");
});

test("photographs of the motion work find their gears by their counts, else by their tags", async () => {
  const { weighCounts } = await import("../../src/trains/index.js");
  const movement = movementOf(lostPinion());
  const seen = (position: string, count: number) => ({
    position,
    kind: "wheel" as const,
    alternatives: [{ count, probability: 0.99 }],
  });
  const places = (position: string, count: number) =>
    weighCounts(movement, [seen(position, count)]).counts.map((one) => one.position);
  expect(places("M1", 72)).toEqual(["motion work.hour wheel"]);
  // Nothing has 70: by its tag the hour wheel, and at odds with the train.
  expect(places("M3", 70)).toEqual(["motion work.hour wheel"]);
  expect(weighCounts(movement, [seen("M1", 70)]).unplaced).toEqual(["M1 (wheel)"]);
});

test("an SVG with anything but shapes and text is no drawing of ours", () => {
  const svg = (inside: string) => `<svg xmlns="x" viewBox="0 0 10 20" font-size="3">${inside}</svg>`;
  expect(
    drawingOfSvg(svg('<g transform="translate(1 2)"><path d="M0 0"/><text x="1">a &amp; &#39;b</text></g>')),
  ).toMatchObject({
    width: 10,
    height: 20,
  });
  expect(drawingOfSvg(svg("<script>alert(1)</script>"))).toBeUndefined();
  expect(drawingOfSvg(svg('<image href="http://x"/>'))).toBeUndefined();
  expect(drawingOfSvg(svg("<foreignObject><p/></foreignObject>"))).toBeUndefined();
  expect(drawingOfSvg("<p>no</p>")).toBeUndefined();
  expect(drawingOfSvg(svg("<g><path d='M0 0'/>"))).toBeUndefined();
});

test("inches stand beside millimetres on request: 39.14 in (Griffiths, The Artillerist's Manual) for the seconds pendulum", async () => {
  const { survey, photos } = await inventedSurvey();
  const page = async (yaml: string): Promise<string> => {
    const { result, papers } = await evaluateTrains(movementOf(yaml), survey.measurement.photos, {
      inches: true,
    });
    const made = await prepareReport({ ...survey, trains: result }, (i) => Promise.resolve(photos[i]), {
      papers,
      inches: true,
    });
    return renderHtml(made.content, made.pictures);
  };
  // At 51.5 degrees (London): 994.17 mm, GRS 80.
  expect(await page(lostPinion().replace("pinion: ?, wheel: 60", "pinion: 8, wheel: 60"))).toMatch(
    /994\.17\u00a0±\u00a00\.1\d\u00a0mm \(39\.14\d\d\u00a0±\u00a00\.00\d\d\u00a0in\)/,
  );
  expect(await page(lostPinion())).toMatch(/<dt>Blank diameter<\/dt><dd>.*?mm \(0\.\d+ ± 0\.\d+ in\)/);
  expect(html).not.toMatch(/\d in\)|\u00a0in\)/);
});
