import { PDFiumLibrary, type PDFiumDocument } from "@hyzyla/pdfium";
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import { deflateSync } from "node:zlib";
import { afterAll, beforeAll, expect, test } from "vitest";
import { prepareReport, renderHtml, renderPdf, type ComposedReport } from "../../src/report/index.js";
import { ttfFromWoff } from "../../src/report/pdf/ttf-from-woff.js";
import { inventedSurvey, type InventedSurvey } from "./invented-survey.js";

let library: PDFiumLibrary;
let invented: InventedSurvey;
let composed: ComposedReport;
let pdf: Buffer;
let document: PDFiumDocument;
const options = { madeAt: new Date("2025-03-02T09:30:00Z"), software: "wheelsurvey test" } as const;

beforeAll(async () => {
  library = await PDFiumLibrary.init();
  invented = await inventedSurvey();
  composed = await prepareReport(invented.survey, (i) => Promise.resolve(invented.photos[i]));
  pdf = await renderPdf(composed.content, composed.pictures, options);
  document = await library.loadDocument(pdf);
});
afterAll(() => {
  document.destroy();
  library.destroy();
});

/** Text with every white space, no-break or line end, as one space. */
const plain = (text: string): string => text.replace(/[\s\u00a0\u0002]+/g, " ");
const textOf = (doc: PDFiumDocument): string =>
  plain([...doc.pages()].map((page) => page.getText()).join("\n"));

test("every number of the HTML stands in the PDF", () => {
  const html = renderHtml(composed.content, composed.pictures);
  const text = textOf(document);
  const cells = [...html.matchAll(/<td[^>]*>([^<]+)<\/td>/g)].map((m) =>
    plain(m[1]!.replaceAll("&amp;", "&")),
  );
  expect(cells.length).toBeGreaterThan(200);
  // A cell of words may be broken into lines; a number never is.
  const numbers = cells.filter((cell) => /\d/.test(cell) && !/[a-z]{3}/.test(cell));
  expect(numbers.length).toBeGreaterThan(120);
  for (const cell of numbers) expect(text).toContain(cell);
  for (const section of composed.content.sections) expect(text).toContain(section.title);
});

test("words can be found and copied: spaces stand between them", () => {
  const text = textOf(document);
  expect(text).toContain("It states no value, and it is no appraisal");
  expect(text).toContain(
    "Follow your local codes, and leave to a licensed professional whatever you are not sure of.",
  );
  expect(text).toContain("measured, with expanded uncertainty (k = 2)");
});

test("pages are numbered, and the contents name the right ones", () => {
  const pages = [...document.pages()].map((page) => plain(page.getText()));
  expect(pages.length).toBeGreaterThan(8);
  pages.forEach((text, i) => expect(text).toContain(`${i + 1} / ${pages.length}`));
  // The notice stands on every page.
  for (const text of pages) expect(text).toContain("Invented data: this movement does not exist.");
  // Page numbers of the contents are written last: once all pages are known.
  const { sections } = composed.content;
  const numbers = pages[0]!.trim().split(" ").slice(-sections.length).map(Number);
  expect(sections.length).toBeGreaterThan(8);
  sections.forEach((section, i) => {
    expect(pages[numbers[i]! - 1], `page ${numbers[i]}`).toContain(`${i + 1} ${section.title}`);
  });
});

test("all fonts are embedded, the document is tagged and says its language", () => {
  const raw = pdf.toString("latin1");
  const fonts = raw.match(/\/Type \/FontDescriptor/g) ?? [];
  const files = raw.match(/\/FontFile[23]? /g) ?? [];
  expect(fonts.length).toBeGreaterThan(4);
  expect(files).toHaveLength(fonts.length);
  expect(raw).not.toMatch(/\/Subtype \/Type1\b/);
  expect(raw).toMatch(/\/MarkInfo/);
  expect(raw).toMatch(/\/StructTreeRoot/);
  expect(raw).toMatch(/\/Lang \(en\)/);
  for (const tag of ["Document", "Sect", "H1", "H2", "P", "Table", "TR", "TH", "TD", "Figure"])
    expect(raw).toMatch(new RegExp(`/S /${tag}\\b`));
  // Every figure says what it shows.
  expect((raw.match(/\/S \/Figure/g) ?? []).length).toBe((raw.match(/\/Alt \(/g) ?? []).length);
  expect(raw).not.toMatch(/\/JavaScript|\/Launch|\/EmbeddedFile|\/URI/);
});

test("comes on the paper that was asked for", async () => {
  // ISO 216 A4 is 210 x 297 mm; US Letter 8.5 x 11 in; 72 points to the inch.
  const a4 = document.getPage(0).getOriginalSize();
  expect((a4.originalWidth / 72) * 25.4).toBeCloseTo(210, 0);
  expect((a4.originalHeight / 72) * 25.4).toBeCloseTo(297, 0);
  const letter = await library.loadDocument(
    await renderPdf(composed.content, composed.pictures, { ...options, paper: "letter" }),
  );
  expect(letter.getPage(0).getOriginalSize()).toMatchObject({ originalWidth: 612, originalHeight: 792 });
  letter.destroy();
});

test("nothing is drawn beyond the margins", async () => {
  let looked = 0;
  for (const page of [...document.pages()].slice(0, 6)) {
    const { data, width, height } = await page.render({ scale: 0.5, render: "bitmap" });
    // Margins are 50 pt, 25 px here; the notice at the head and the page number at the foot lie inside the sides.
    for (let y = 0; y < height; y++) {
      for (const x of [2, 12, 20, width - 21, width - 12, width - 3]) {
        const at = 4 * (y * width + x);
        expect(data[at]! + data[at + 1]! + data[at + 2]!).toBe(765);
        looked++;
      }
    }
  }
  expect(looked).toBeGreaterThan(10_000);
});

test("hostile and endless words are shown as text, and the pages go on", async () => {
  const text = `<b>x</b> \u202Egpj.exe 🕰 ${"W".repeat(10_000)} ${"שלום עולם ".repeat(50)}\u0000`;
  const { survey, photos } = await inventedSurvey({
    title: text,
    remarks: text,
    notice: text,
    condition: [{ part: text, text }],
    identification: { maker: text },
  });
  const made = await prepareReport(survey, (i) => Promise.resolve(photos[i]));
  const doc = await library.loadDocument(await renderPdf(made.content, made.pictures, options));
  const shown = textOf(doc);
  expect(shown).toContain("<b>x</b> ⟨U+202E⟩gpj.exe □");
  // All of the ten thousand letters are there, over several pages.
  expect((shown.match(/W/g) ?? []).length).toBeGreaterThan(30_000);
  expect(shown).toContain("9 Limits of this report".slice(2));
  doc.destroy();
});

// Source: W3C WOFF 1.0: a WOFF file holds the tables of a font unchanged, each packed by itself.
test("a font is the same font unpacked", () => {
  const require = createRequire(import.meta.url);
  const ttf = readFileSync(require.resolve("dejavu-fonts-ttf/ttf/DejaVuSansMono-Bold.ttf"));
  expect(ttfFromWoff(woffOf(ttf))).toEqual(sortedByOffset(ttf));
  expect(() => ttfFromWoff(ttf)).toThrow(RangeError);
});

interface TableEntry {
  readonly tag: number;
  readonly checkSum: number;
  readonly data: Buffer;
}

function tablesOf(ttf: Buffer): TableEntry[] {
  return Array.from({ length: ttf.readUInt16BE(4) }, (_, i) => {
    const at = 12 + 16 * i;
    const offset = ttf.readUInt32BE(at + 8);
    return {
      tag: ttf.readUInt32BE(at),
      checkSum: ttf.readUInt32BE(at + 4),
      data: ttf.subarray(offset, offset + ttf.readUInt32BE(at + 12)),
    };
  });
}

/** Packs a font as WOFF, written for this test. */
function woffOf(ttf: Buffer): Buffer {
  const tables = tablesOf(ttf).map((t) => {
    const packed = deflateSync(t.data);
    return { ...t, stored: packed.length < t.data.length ? packed : t.data };
  });
  const head = Buffer.alloc(44 + 20 * tables.length);
  head.write("wOFF", 0, "latin1");
  head.writeUInt32BE(ttf.readUInt32BE(0), 4);
  head.writeUInt16BE(tables.length, 12);
  let offset = head.length;
  const bodies = tables.map((t, i) => {
    const at = 44 + 20 * i;
    [t.tag, offset, t.stored.length, t.data.length, t.checkSum].forEach((v, k) =>
      head.writeUInt32BE(v, at + 4 * k),
    );
    const body = Buffer.alloc((t.stored.length + 3) & ~3);
    t.stored.copy(body);
    offset += body.length;
    return body;
  });
  return Buffer.concat([head, ...bodies]);
}

/** The font with its tables in the order of its directory: what unpacking gives, whatever the order was before. */
function sortedByOffset(ttf: Buffer): Buffer {
  const tables = tablesOf(ttf);
  const head = Buffer.from(ttf.subarray(0, 12 + 16 * tables.length));
  let offset = head.length;
  const bodies = tables.map((t, i) => {
    head.writeUInt32BE(offset, 12 + 16 * i + 8);
    const body = Buffer.alloc((t.data.length + 3) & ~3);
    t.data.copy(body);
    offset += body.length;
    return body;
  });
  return Buffer.concat([head, ...bodies]);
}
