import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import sharp from "sharp";
import { expect, test } from "vitest";
import { readPhoto } from "../../src/photo/index.js";
import { measurePhotos, measureSets } from "../../src/pipeline/index.js";
import { measurementDocument, surveySchemaName, type SurveyDocument } from "../../src/record/index.js";
import { plainWords } from "../../src/report/content/content.js";
import { layout } from "../../src/report/laid-over/lay-over.js";
import { prepareReport, renderHtml, type ComposedReport } from "../../src/report/index.js";
import type { SetPhoto } from "../../src/survey/index.js";

interface Truth {
  readonly mat_across_mm: number;
  readonly mat_along_mm: number;
  readonly face_height_mm: number;
  readonly play_mm: readonly (readonly [number, number])[];
  readonly twist_deg: readonly number[];
}

const samples = fileURLToPath(new URL("../../samples/sets", import.meta.url));

async function surveyOf(name: string): Promise<{ survey: SurveyDocument; truth: Truth; paths: string[] }> {
  const folder = join(samples, name);
  const truth = JSON.parse(readFileSync(join(folder, "truth.json"), "utf8")) as Truth;
  const paths = readdirSync(folder)
    .filter((file) => file.endsWith(".jpg"))
    .sort()
    .map((file) => join(folder, file));
  const found: SetPhoto[] = [];
  const photos = await measurePhotos(
    paths,
    {
      set: "play",
      matAcrossMm: truth.mat_across_mm,
      matAlongMm: truth.mat_along_mm,
      faceHeights: [{ heightMm: Number(truth.face_height_mm.toFixed(1)) }],
    },
    { workers: 1, onSetPhoto: (photo) => void found.push(photo) },
  );
  return {
    truth,
    paths,
    survey: {
      schema: surveySchemaName,
      made_at: "2026-01-01T00:00:00Z",
      software: { name: "wheelsurvey", version: "0" },
      statement: { identification: {}, condition: [], planned_work: [], notice: "Rendered pictures" },
      measurement: measurementDocument(photos, measureSets(found, "play")),
    },
  };
}

const reportOf = (
  survey: SurveyDocument,
  paths: readonly string[],
  without?: number,
): Promise<ComposedReport> =>
  prepareReport(survey, async (i) => {
    const photo = i === without ? undefined : await readPhoto(paths[i]!);
    return photo?.ok ? photo.value : undefined;
  });

/** One channel of a square of the picture; x right, y up, mm from the square's middle. */
type Light = (xMm: number, yMm: number) => number;

async function tintsOf(
  { pictures }: ComposedReport,
  square: { readonly x: number; readonly y: number; readonly side: number },
  halfMm: number,
): Promise<{ first: Light; second: Light; stepMm: number }> {
  const { data, info } = await sharp(pictures.get("set-1-laid-over")!.jpeg)
    .removeAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  const scale = info.width / layout.width;
  const side = Math.round(square.side * scale);
  const perMm = side / (2 * halfMm);
  const [left, top] = [Math.round(square.x * scale), Math.round(square.y * scale)];
  const channel =
    (c: number): Light =>
    (xMm, yMm) => {
      const u = left + (side - 1) / 2 + xMm * perMm;
      const v = top + (side - 1) / 2 - yMm * perMm;
      const [i, j] = [Math.floor(u), Math.floor(v)];
      const at = (a: number, b: number): number => data[3 * ((j + b) * info.width + i + a) + c]!;
      const [f, g] = [u - i, v - j];
      return (1 - g) * ((1 - f) * at(0, 0) + f * at(1, 0)) + g * ((1 - f) * at(0, 1) + f * at(1, 1));
    };
  // Orange is red without blue: the first photograph is the red channel, the second the blue one.
  return { first: channel(0), second: channel(2), stepMm: 1 / perMm };
}

/**
 * How the second tint lies against the first on a ring, by least squares on brightness (Lucas and Kanade 1981, from
 * memory): shift and turn about the middle. Written for this test; the program registers on colour, not brightness.
 */
function movementOf(
  { first, second, stepMm }: Awaited<ReturnType<typeof tintsOf>>,
  fromMm: number,
  toMm: number,
): { x: number; y: number; turnDeg: number } {
  const d = [0, 0, 0];
  for (let round = 0; round < 30; round++) {
    const m = Array.from({ length: 3 }, () => [0, 0, 0, 0]);
    for (let y = -toMm; y <= toMm; y += stepMm)
      for (let x = -toMm; x <= toMm; x += stepMm) {
        const r = Math.hypot(x, y);
        if (r < fromMm || r > toMm) continue;
        const [a, b] = [x + d[0]! - d[2]! * y, y + d[1]! + d[2]! * x];
        const gx = (second(a + stepMm, b) - second(a - stepMm, b)) / (2 * stepMm);
        const gy = (second(a, b + stepMm) - second(a, b - stepMm)) / (2 * stepMm);
        const row = [gx, gy, gy * x - gx * y, first(x, y) - second(a, b)];
        for (let i = 0; i < 3; i++) for (let j = 0; j < 4; j++) m[i]![j]! += row[i]! * row[j]!;
      }
    for (let i = 0; i < 3; i++)
      for (let k = 0; k < 3; k++) {
        if (k === i) continue;
        const f = m[k]![i]! / m[i]![i]!;
        for (let j = 0; j < 4; j++) m[k]![j]! -= f * m[i]![j]!;
      }
    for (let i = 0; i < 3; i++) d[i]! += m[i]![3]! / m[i]![i]!;
  }
  return { x: d[0]!, y: d[1]!, turnDeg: (d[2]! * 180) / Math.PI };
}

// The bars: at the arbor a fifth of a pixel of the photographs (0.03 mm and 1 degree for the first, whose play is half a
// pixel), at the rim two standard uncertainties of the set.
test.each([
  { name: "play-radial-0.08", arborShare: 0.06 },
  { name: "play-twist-1", arborShare: 0.15 },
])(
  "$name laid over: the tints are apart by the play at the rim and coincide at the arbor",
  { timeout: 180_000 },
  async ({ name, arborShare }) => {
    const { survey, truth, paths } = await surveyOf(name);
    const report = await reportOf(survey, paths);
    const [set] = survey.measurement.sets;
    const [a, b] = set!.greatest_movement!.photos.map((file) => paths.indexOf(file)) as [number, number];
    const tipMm =
      survey.measurement.photos[a]!.parts.find(({ id }) => id === set!.positions![a]!.part_id)!
        .tip_diameter_mm!.value / 2;
    const rim = movementOf(await tintsOf(report, layout.whole, 1.12 * tipMm), 0.86 * tipMm, 0.99 * tipMm);
    const arbor = movementOf(await tintsOf(report, layout.arbor, 0.25 * tipMm), 0, arborShare * tipMm);
    const arborMm = arborShare * tipMm;
    const fifthMm = 0.2 / survey.measurement.photos[a]!.scale.px_per_mm!;
    expect(Math.hypot(arbor.x, arbor.y)).toBeLessThan(fifthMm);
    expect(Math.abs(arbor.turnDeg)).toBeLessThan(((fifthMm / arborMm) * 180) / Math.PI);
    const [x, y] = [0, 1].map((i) => truth.play_mm[b]![i]! - truth.play_mm[a]![i]!) as [number, number];
    expect(Math.hypot(rim.x - arbor.x - x, rim.y - arbor.y - y)).toBeLessThan(2 * set!.radial_play_mm!.u);
    expect(Math.abs(rim.turnDeg - (truth.twist_deg[b]! - truth.twist_deg[a]!))).toBeLessThan(
      2 * set!.twist_deg!.u,
    );
    const words = wordsOf(report);
    expect(words).toContain(`${a + 1}.jpg and ${b + 1}.jpg, the two that are furthest apart`);
    expect(renderHtml(report.content, report.pictures, { paper: "a4", fontFaces: "" })).toContain(
      report.pictures.get("set-1-laid-over")!.jpeg.toString("base64"),
    );

    // A photograph that cannot be opened again: the report says which, and is made all the same.
    const less = await reportOf(survey, paths, b);
    expect(less.pictures.has("set-1-laid-over")).toBe(false);
    expect(wordsOf(less)).toContain(`not shown over each other: ${b + 1}.jpg could not be opened again`);
    expect(wordsOf(less)).not.toContain("the two that are furthest apart (");
  },
);

const wordsOf = ({ content }: ComposedReport): string =>
  content.sections
    .find(({ id }) => id === "sets")!
    .blocks.map((b) =>
      b.kind === "figure" ? plainWords(b.caption) : b.kind === "paragraph" ? plainWords(b.words) : "",
    )
    .join("\n");
