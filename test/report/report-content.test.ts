import { createHash } from "node:crypto";
import sharp from "sharp";
import { beforeAll, describe, expect, test } from "vitest";
import type { PhotoRecord, QuantityRecord, SurveyDocument } from "../../src/record/index.js";
import { composeReport } from "../../src/report/content/compose-report.js";
import { groupParts } from "../../src/report/content/group-parts.js";
import { plainWords, type Block, type TableBlock } from "../../src/report/content/content.js";
import { adviceForLengths, contributionsText } from "../../src/report/content/budget-words.js";
import { csvText } from "../../src/report/csv.js";
import { prepareReport, renderHtml, surveyCsv, type ComposedReport } from "../../src/report/index.js";
import { pictureBudget } from "../../src/report/pictures.js";
import { quantityText } from "../../src/report/rounded.js";
import { shownText } from "../../src/report/shown-text.js";
import { inventedSurvey, type InventedSurvey } from "./invented-survey.js";

let invented: InventedSurvey;
let report: ComposedReport;
let html: string;
beforeAll(async () => {
  invented = await inventedSurvey();
  report = await prepareReport(invented.survey, (i) => Promise.resolve(invented.photos[i]));
  html = renderHtml(report.content, report.pictures, { fontFaces: report.fontFaces });
});

const noPictures = { cropOf: () => undefined };

function blocksOf(blocks: readonly Block[]): Block[] {
  return blocks.flatMap((block) => {
    if (block.kind === "part") return [block, ...blocksOf(block.blocks)];
    if (block.kind === "pair") return [block, ...blocksOf(block.left), ...blocksOf(block.right)];
    return [block];
  });
}
const allBlocks = (survey: SurveyDocument): Block[] =>
  composeReport(survey, noPictures).sections.flatMap((s) => blocksOf(s.blocks));

/** RFC 4180, written for this test: quoted cells, doubled quotation marks, CRLF. */
function parseCsv(text: string): string[][] {
  const rows: string[][] = [[]];
  let cell = "";
  let quoted = false;
  for (let i = 0; i < text.length; i++) {
    const c = text[i]!;
    if (quoted) {
      if (c === '"' && text[i + 1] === '"') [cell, i] = [`${cell}"`, i + 1];
      else if (c === '"') quoted = false;
      else cell += c;
    } else if (c === '"') quoted = true;
    else if (c === "," || c === "\n") {
      rows.at(-1)!.push(cell.replace(/\r$/, ""));
      cell = "";
      if (c === "\n") rows.push([]);
    } else cell += c;
  }
  return rows.filter((row) => row.length > 0);
}

describe("numbers", () => {
  test("HTML, CSV and JSON say the same", () => {
    const [head, ...rows] = parseCsv(surveyCsv(invented.survey).replace("\uFEFF", ""));
    const column = (name: string): number => head!.indexOf(name);
    const groups = groupParts(invented.survey);
    const tables = [...html.matchAll(/<table><caption><span>(.*?): measured.*?<tbody>(.*?)<\/tbody>/g)];
    expect(tables).toHaveLength(groups.length);
    let compared = 0;
    tables.forEach(([, , body], g) => {
      const { best } = groups[g]!;
      const inCsv = rows.filter(
        (r) => r[column("photograph")] === String(best.photoIndex + 1) && r[column("part")] === best.part.id,
      );
      for (const [, name, value, expanded] of body!.matchAll(
        /<th scope="row"[^>]*>(.*?)<\/th><td[^>]*>(.*?)<\/td><td[^>]*>±\u00a0(.*?)<\/td>/g,
      )) {
        const row = inCsv.find((r) => r[column("quantity")] === name!.toLowerCase());
        expect(row, name).toBeDefined();
        const shown = /^[−\d.]+/.exec(value!)![0].replace("−", "-");
        const unit = 10 ** -(shown.split(".")[1]?.length ?? 0);
        expect(Math.abs(Number(shown) - Number(row![column("value")]))).toBeLessThanOrEqual(unit / 2 + 1e-9);
        const shownU = Number(/^[\d.]+/.exec(expanded!)![0]);
        const u = Number(row![column("expanded_uncertainty_k2")]);
        // Two significant digits, up rather than down: at most a tenth more, at most 1 % less.
        expect(shownU / u).toBeGreaterThan(0.9899);
        expect(shownU / u).toBeLessThan(1.101);
        compared++;
      }
    });
    expect(compared).toBeGreaterThan(60);
    // CSV against JSON: every quantity of every part, digit for digit.
    const fields = Object.entries(invented.survey.measurement.photos[0]!.parts[0]!).filter(
      (entry): entry is [string, QuantityRecord] => typeof entry[1] === "object" && "u" in entry[1],
    );
    expect(fields.length).toBeGreaterThan(12);
    const values = rows
      .filter((r) => r[1] === "photos/tray-1.jpg" && r[3] === "W1")
      .map((r) => Number(r[column("value")]));
    for (const [, q] of fields) expect(values).toContain(q.value);
  });

  // Source: JCGM 100:2008, 7.2.6, as in the room `quantity`: two digits of uncertainty.
  test("a value is cut where its expanded uncertainty is", () => {
    expect(quantityText({ value: 40.0559, u: 0.0091 })).toBe("40.056\u00a0±\u00a00.019\u00a0mm");
    expect(quantityText({ value: -0.1234, u: 0.02 }, "")).toBe("−0.123\u00a0±\u00a00.040");
    expect(quantityText({ value: 25.4, u: 0.0254 }, "in", 1 / 25.4)).toBe(
      "1.0000\u00a0±\u00a00.0020\u00a0in",
    );
  });

  test("inches stand beside millimetres on request, and only then", () => {
    const table = (inches: boolean): string =>
      JSON.stringify(
        composeReport(invented.survey, { ...noPictures, inches }).sections.find((s) => s.id === "parts"),
      );
    // 74.07 mm / 25.4 = 2.91614 in
    expect(table(true)).toContain("74.070\u00a0mm; 2.9161");
    expect(table(false)).not.toContain("\u00a0in");
  });
});

describe("what a repairer reads", () => {
  test("names the largest sources and what taking one away would bring", () => {
    // 0.03² = 0.02² + 0.01² + 0.02²: shares 4/9, 1/9, 4/9. Without height √(0.02² + 0.01²) = 0.02236, doubled 0.045.
    const q: QuantityRecord = {
      value: 40,
      u: 0.03,
      budget: [
        { source: "height", input: "face", u: 0.02 },
        { source: "scale", input: "mat-across", u: 0.02 },
        { source: "edge", u: 0.01 },
      ],
    };
    expect(contributionsText(q)).toBe("height of face 44 %, print across 44 %");
    const { measurement } = invented.survey;
    const advice = adviceForLengths(
      { ...measurement.photos[0]!.parts[0]!, tip_diameter_mm: q },
      measurement.photos[0]!,
    );
    expect(advice).toMatch(/give the height of the face.*± 0\.045 mm instead of ± 0\.060 mm/);
  });

  test("asks for the check bars where they were not measured", () => {
    const photo = invented.survey.measurement.photos[0]!;
    const q: QuantityRecord = {
      value: 40,
      u: 0.1,
      budget: [{ source: "scale", input: "mat-across", u: 0.1 }],
    };
    const part = { ...photo.parts[0]!, tip_diameter_mm: q };
    expect(
      adviceForLengths(part, { ...photo, view: { ...photo.view!, print_scale_measured: false } }),
    ).toMatch(/measure the two check bars/);
    expect(adviceForLengths(part, photo)).toMatch(/again with calipers/);
    expect(adviceForLengths(part, { ...photo, scale: { source: "given" } })).toMatch(/on the printed sheet/);
  });

  test("puts faults before what is to be watched, and notes not into the list of what needs doing", () => {
    const blocks = composeReport(invented.survey, noPictures).sections.find(
      (s) => s.id === "summary",
    )!.blocks;
    const findings = blocks.find((b) => b.kind === "findings")!;
    expect(findings.items.map((f) => f.severity)).toEqual(["fault", "watch"]);
    expect(findings.items[0]!.evidence!.to).toBe(
      groupParts(invented.survey).find((g) => g.label === "T2")!.id,
    );
  });

  test("takes photographs of one part together, in the order of the trains", () => {
    const groups = groupParts(invented.survey);
    expect(groups.map((g) => g.label)).toEqual(["T1", "T2", "T3", "S1", undefined]);
    expect(groups[1]!.others.map((s) => s.photoIndex)).toEqual([1]);
    const table = allBlocks(invented.survey).find(
      (b): b is TableBlock => b.kind === "table" && b.caption === "T2 in its other photographs",
    )!;
    expect(plainWords(table.rows[0]![3]!)).toBe(quantityText(groups[1]!.others[0]!.part.tip_diameter_mm!));
  });

  test("work is shown before and after, side by side, with the change", async () => {
    const { measurement } = invented.survey;
    const photos = measurement.photos.map((p, i) => ({
      ...p,
      file: `photos/T2 ${i === 0 ? "before" : "after"}.jpg`,
    }));
    const survey = { ...invented.survey, measurement: { ...measurement, photos } };
    const { content, pictures } = await prepareReport(survey, (i) => Promise.resolve(invented.photos[i]));
    const blocks = content.sections.flatMap((s) => blocksOf(s.blocks));
    const table = blocks.find(
      (b): b is TableBlock => b.kind === "table" && b.caption.includes("before to after"),
    )!;
    // Modules 0.720 and 0.721 mm; standard uncertainty 0.0015 of each: sqrt 2 x 0.00109 doubled is 0.0031.
    const row = table.rows.find((r) => r[0] === "Module")!.map(plainWords);
    expect(row[3]).toBe("+0.0010\u00a0±\u00a00.0031\u00a0mm †");
    expect(table.rows.find((r) => r[0] === "Missing teeth")!.map(plainWords)).toEqual([
      "Missing teeth",
      "12–13",
      "12–13",
      "none",
    ]);
    const captions = blocks.flatMap((b) => (b.kind === "figure" ? [plainWords(b.caption)] : []));
    expect(captions).toContain("Before, photograph 1");
    expect(captions).toContain("After, photograph 2");
    // Both have their picture: five parts, and T2 once more.
    expect([...pictures.keys()].filter((key) => /^photo-\d+-\d+$/.test(key))).toHaveLength(6);
    // Without such names nothing of the kind is claimed.
    expect(html).not.toContain("Before and after");
  });

  test("an amount below its uncertainty is marked, and its direction is not stated", () => {
    const table = allBlocks(invented.survey).find(
      (b): b is TableBlock => b.kind === "table" && b.caption.startsWith("T3: measured"),
    )!;
    const row = (name: string) => table.rows.find((r) => r[0] === name);
    // T3: eccentricity 0.02 mm, standard uncertainty 0.012 mm.
    expect(plainWords(row("Eccentricity")![1]!)).toBe("0.020\u00a0mm †");
    expect(row("Direction of eccentricity")).toBeUndefined();
    expect(table.caption).toContain("† not above its uncertainty");
  });

  test("a count that is not sure says so and names the runner-up", () => {
    expect(html).toContain("48 teeth (not sure: or 49)");
    const unknown = structuredClone(invented.survey) as unknown as {
      measurement: { photos: { parts: { teeth?: unknown }[] }[] };
    };
    delete unknown.measurement.photos[0]!.parts[4]!.teeth;
    const text = JSON.stringify(composeReport(unknown as unknown as SurveyDocument, noPictures));
    expect(text).toContain("tooth count: cannot tell");
  });

  test("cautions belong to the work that is listed, and end as they must", () => {
    const section = (survey: SurveyDocument) =>
      composeReport(survey, noPictures).sections.find((s) => s.id === "cautions");
    const text = JSON.stringify(section(invented.survey));
    expect(text).toMatch(/Let the mainspring down fully/);
    expect(text).toMatch(/Never mix it with bleach/);
    expect(text).not.toMatch(/Mercury/);
    expect(plainWords((section(invented.survey)!.blocks.at(-1) as { words: string }).words)).toBe(
      "Follow your local codes, and leave to a licensed professional whatever you are not sure of.",
    );
    const { measurement, statement } = invented.survey;
    const idle: SurveyDocument = {
      ...invented.survey,
      statement: { ...statement, planned_work: [], condition: [], identification: {} },
      measurement: { ...measurement, photos: measurement.photos.map((p) => ({ ...p, parts: [] })) },
    };
    const withoutTrains = Object.fromEntries(Object.entries(idle).filter(([key]) => key !== "trains"));
    expect(section(withoutTrains as unknown as SurveyDocument)).toBeUndefined();
  });

  test("states trains in the figures of the book they follow", () => {
    // Source: Encyclopaedia Britannica, 11th ed. (1911), vol. 6, Clock: seconds pendulum, 16 turns in 8 days.
    const text = JSON.stringify(
      composeReport(invented.survey, noPictures).sections.find((s) => s.id === "trains"),
    );
    expect(text).toContain('"Beats an hour","words":"3600"');
    // Standard gravity, for a place that is not named: 0.3 % either way.
    expect(text).toContain("993.6\u00a0±\u00a03.1\u00a0mm");
    expect(text).toContain(`"Goes","words":"8\u00a0days"`);
  });

  test("a photograph that could not be read is named, with what to do", () => {
    const photo: PhotoRecord = {
      file: "photos/notes.jpg",
      scale: { source: "none" },
      parts: [],
      problems: [{ code: "not-an-image", text: "the file is not a picture", advice: "give a photograph" }],
    };
    const { measurement } = invented.survey;
    const survey = { ...invented.survey, measurement: { ...measurement, photos: [photo] } };
    const text = renderHtml(composeReport(survey, noPictures), new Map());
    expect(text).toMatch(/notes\.jpg<\/bdi> could not be read: <bdi class="said">the file is not a picture/);
    expect(text).toMatch(/What to do: <bdi class="said">give a photograph/);
  });

  test("says nothing of value, and that it does not", () => {
    expect(html).toContain("It states no value");
    expect(html.replace(/data:image[^"]*/g, "")).not.toMatch(/[€$£]|\bworth\b|valued at/);
  });
});

describe("hostile text", () => {
  const hostile = [
    `<script>window.pwned = 1</script>`,
    `"><img src=x onerror="window.pwned = 1">`,
    `</style><script>window.pwned = 1</script>`,
    `=HYPERLINK("http://example.invalid","x")`,
    `\u202Egpj.exe`,
    "🕰️ ساعة 時計",
    `../../../../etc/passwd`,
    `a\u0000b\u0007c\uD800`,
    "x".repeat(10_000),
  ];

  test("is shown as text in HTML", async () => {
    for (const text of hostile) {
      const { survey, photos } = await hostileSurvey(text);
      const composed = await prepareReport(survey, (i) => Promise.resolve(photos[i]));
      // Without the pictures: a failure would print them.
      const page = renderHtml(composed.content, composed.pictures).replace(/base64,[^"]*/g, "");
      expect(page).not.toMatch(/<script|<img|onerror="|\u202E|\u0000|\uD800(?![\uDC00-\uDFFF])/);
      expect(page.match(/<style>/g)).toHaveLength(1);
      expect(page.match(/<\/style>/g)).toHaveLength(1);
      expect(page).toContain("⟨U+202E⟩".slice(0, text.includes("\u202E") ? 8 : 0));
    }
    expect.assertions(hostile.length * 4);
  });

  test("never starts a formula in CSV, and numbers stay numbers", async () => {
    let cells = 0;
    for (const text of [
      ...hostile,
      "+1",
      "-1+1",
      "@SUM(A1)",
      "\t=1",
      " =1",
      "＝1",
      "'=1",
      "|x",
      "%x",
      "−1",
    ]) {
      const { survey } = await hostileSurvey(text, false);
      for (const row of parseCsv(surveyCsv(survey).replace("\uFEFF", ""))) {
        for (const cell of row) {
          cells++;
          if (/^-?\d+(\.\d+)?$/.test(cell)) continue;
          expect(cell).not.toMatch(/^[\s"]*[=+\-@|%＝＋－＠\u2212]/u);
        }
        expect(row.length, JSON.stringify(row)).toBe(12);
      }
    }
    expect(cells).toBeGreaterThan(1000);
  });

  test("keeps its words in CSV", () => {
    expect(parseCsv(`${csvText('a "b", c')}\n`)[0]![0]).toBe('a "b", c');
    expect(parseCsv(`${csvText("=1+1")}\n`)[0]![0]).toBe("'=1+1");
    expect(csvText("T2")).toBe("T2");
  });

  test("direction marks are shown by their number, long texts cut with a word about it", () => {
    expect(shownText("a\u202Eb")).toBe("a⟨U+202E⟩b");
    expect(shownText("x".repeat(300), { max: 10 })).toBe(`${"x".repeat(10)}… (300 characters)`);
    expect(shownText("🕰🕰🕰", { max: 2 })).toBe("🕰🕰… (3 characters)");
    expect(shownText("a\nb\tc")).toBe("a b c");
    expect(shownText("a\nb", { lines: true })).toBe("a\nb");
  });

  async function hostileSurvey(text: string, pictures = true): Promise<InventedSurvey> {
    const { survey, photos } = pictures ? invented : await Promise.resolve(invented);
    const { measurement } = survey;
    const photo = measurement.photos[1]!;
    const part = {
      ...photo.parts[0]!,
      id: text,
      label: text,
      addendum_assumption: text,
      findings: [{ code: text, severity: "fault" as const, text }],
      problems: [{ code: text, text, advice: text }],
    };
    const said = { name: text, role: text, contact: text };
    const identification = Object.fromEntries(
      ["type_of_object", "maker", "description", "inscriptions_and_markings"].map((key) => [key, text]),
    );
    return {
      photos: [photos[1]!],
      survey: {
        ...survey,
        statement: {
          title: text,
          reference: text,
          purpose: text,
          notice: text,
          owner: said,
          examiner: said,
          examined_on: text,
          identification,
          remarks: text,
          condition: [{ part: text, text }],
          planned_work: [text],
          scale_measured_with: text,
        },
        measurement: {
          ...measurement,
          photos: [
            {
              ...photo,
              file: text,
              captured_at: text,
              camera_data: { make: text, model: text },
              parts: [part],
              problems: [{ code: text, text, advice: text }],
            },
          ],
          sets: [{ kind: "turn", label: text, photos: [text], findings: part.findings }],
        },
      },
    };
  }
});

describe("the file", () => {
  test("asks nobody for anything, and its policy forbids it", () => {
    for (const [, url] of html.matchAll(/(?:href|src)="([^"]*)"/g))
      expect(url).toMatch(/^(#|data:image\/jpeg)/);
    expect(html.replaceAll(/url\(data:font\/woff2;base64,[^)]*\)/g, "")).not.toMatch(
      /url\(|@import|<script|<link|<iframe/,
    );
    const style = /<style>([\s\S]*?)<\/style>/.exec(html)![1]!;
    const hash = createHash("sha256").update(style).digest("base64");
    expect(html).toContain(
      `content="default-src 'none'; img-src data:; font-src data:; style-src 'sha256-${hash}'; base-uri 'none'; form-action 'none'"`,
    );
    // A style attribute would be refused by that policy.
    expect(html).not.toMatch(/ style="/);
  });

  test("every link leads to a place in it, and every place has one name", () => {
    const ids = [...html.matchAll(/ id="([^"]*)"/g)].map((m) => m[1]!);
    expect(new Set(ids).size).toBe(ids.length);
    const links = [...html.matchAll(/<a [^>]*href="#([^"]*)"/g)].map((m) => m[1]!);
    expect(links.length).toBeGreaterThan(20);
    for (const link of links) expect(ids).toContain(link);
  });

  test("its pictures are stripped copies", async () => {
    const pictures = [...html.matchAll(/data:image\/jpeg;base64,([^"]*)"/g)].map((m) =>
      Buffer.from(m[1]!, "base64"),
    );
    // Two photographs, five parts; the cover shows the first photograph once more, by reference.
    expect(pictures).toHaveLength(7);
    for (const picture of pictures) {
      const { format, exif, xmp, iptc, icc } = await sharp(picture).metadata();
      expect(format).toBe("jpeg");
      expect(exif ?? xmp ?? iptc ?? icc).toBeUndefined();
    }
  });

  test("pictures of sixty photographs leave the report under 10 MB", () => {
    for (const [photos, parts] of [[60, 60], [60, 480], [1, 1], [200, 0]] as const) {
      const { photoBytes, partBytes } = pictureBudget(photos, parts);
      // Base64 makes four bytes of three; the rest is for the words.
      expect(((photos * photoBytes + parts * partBytes) * 4) / 3).toBeLessThan(8.6e6);
    } // prettier-ignore
  });
});
