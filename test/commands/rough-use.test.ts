import { createHash } from "node:crypto";
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  utimesSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { Writable } from "node:stream";
import sharp from "sharp";
import { afterAll, beforeEach, expect, test, vi } from "vitest";
import { readCheckSumLine } from "../../src/commands/report-check-sums.js";
import { runReport, type ReportOptions } from "../../src/commands/report-run.js";
import { openMeasurementCache } from "../../src/commands/report-cache.js";
import { whileAlone } from "../../src/commands/report-turn.js";
import { readSurveyDocument } from "../../src/record/index.js";

vi.setConfig({ testTimeout: 240_000 });

const root = mkdtempSync(join(tmpdir(), "rough-use-"));
afterAll(() => rmSync(root, { recursive: true, force: true }));

let folder: string;
let count = 0;
const made = (name: string): string => join(folder, "report", name);

/** Small pictures without a part: what is tested here is what happens to files. */
const picture = (colour: string): Promise<Buffer> =>
  sharp({ create: { width: 120, height: 90, channels: 3, background: colour } })
    .jpeg()
    .toBuffer();
const put = async (name: string, colour: string): Promise<void> =>
  writeFileSync(join(folder, "photos", name), await picture(colour));

beforeEach(async () => {
  folder = join(root, `survey-${count++}`);
  mkdirSync(join(folder, "photos"), { recursive: true });
  await put("one.jpg", "#b08030");
  await put("two.jpg", "#808080");
});

/** Calls the command; resolves with what it said on stderr. */
async function report(options: ReportOptions = {}): Promise<string> {
  let words = "";
  const sink = new Writable({ write: (_chunk, _encoding, done) => done() });
  const stderr = new Writable({
    write: (chunk: Buffer, _encoding, done) => {
      words += String(chunk);
      done();
    },
  });
  await runReport(folder, { workers: 1, ...options }, { stdout: sink, stderr, setExitCode: () => undefined });
  return words;
}

/** Every line of the report's list against the file it names, by a reader of this test's own. */
function checkSumsHold(): number {
  const lines = readFileSync(made("SHA256SUMS"), "utf8").trimEnd().split("\n");
  for (const line of lines) {
    const { sha256, name } = readCheckSumLine(line)!;
    const bytes = readFileSync(resolve(folder, "report", name));
    expect(createHash("sha256").update(bytes).digest("hex"), name).toBe(sha256);
  }
  return lines.length;
}

test("two reports of one folder at once: both come to an end, and what stands there is whole", async () => {
  await Promise.all([report({ fresh: true }), report({ fresh: true })]);
  expect(checkSumsHold()).toBe(6);
  expect(readdirSync(made("")).filter((name) => name.endsWith(".partial"))).toEqual([]);
  expect(readFileSync(made("report.pdf")).subarray(-6).toString().trim()).toBe("%%EOF");
});

test("what a killed run left behind does not hold up the next one", async () => {
  mkdirSync(made(""));
  // 2^22 is above the largest process number that Linux gives.
  for (const left of ["4194304", ""]) {
    writeFileSync(made(".being-written"), left);
    await report();
    expect(checkSumsHold()).toBe(6);
    expect(existsSync(made(".being-written"))).toBe(false);
  }
});

test("one writes while the other waits for its turn", async () => {
  const order: string[] = [];
  const write = (name: string) =>
    whileAlone(folder, async () => {
      order.push(`${name} begins`);
      await new Promise((done) => setTimeout(done, 100));
      order.push(`${name} ends`);
    });
  await Promise.all([write("a"), write("b")]);
  expect(order.map((words) => words.slice(2))).toEqual(["begins", "ends", "begins", "ends"]);
  await expect(whileAlone(folder, () => Promise.reject(new Error("no")))).rejects.toThrow("no");
  await write("c");
});

test("a folder that goes away while the report is made: a clear line, and no new folder in its place", async () => {
  for (let i = 0; i < 6; i++) await put(`more-${i}.jpg`, `#8080${10 + i}`);
  const begun = (async () => {
    while (!existsSync(join(folder, "results"))) await new Promise((done) => setTimeout(done, 2));
    renameSync(folder, `${folder}-moved`);
  })();
  await expect(report({ fresh: true })).rejects.toThrow(/is no longer there|cannot be read/);
  await begun;
  expect(existsSync(folder)).toBe(false);
  expect(readdirSync(join(`${folder}-moved`, "photos")).length).toBe(8);
});

test("photographs named in any script keep their names, in every file of the report", async () => {
  const names = [
    "Федеральное колесо.jpg", // Cyrillic
    "عجلة كبيرة.jpg", // written from right to left
    "大齒輪 二番車.jpg",
    "Räder, Öl & Größe.jpg", // one character for each letter
    "Ra\u0308der.jpg", // the same ä, of two characters
    "चक्र.jpg",
    "⚙️ wheel.jpg",
    'it\'s "it" #1 100%.jpg',
  ];
  for (const [i, name] of names.entries()) await put(name, `#40${10 + i}40`);
  await report();
  const files = readSurveyDocument(readFileSync(made("survey.json"), "utf8")).measurement.photos.map(
    ({ file }) => file,
  );
  expect(new Set(files)).toEqual(new Set([...names, "one.jpg", "two.jpg"].map((name) => `photos/${name}`)));
  expect(checkSumsHold()).toBe(4 + files.length);
  const html = readFileSync(made("report.html"), "utf8");
  for (const name of ["Федеральное колесо", "عجلة كبيرة", "大齒輪 二番車", "चक्र"])
    expect(html).toContain(name);
  // Nothing is measured twice under its name.
  expect(await report()).toMatch(/10 of 10 photographs are unchanged/);
});

test("a clock that was set back changes nothing: what counts is what a file holds", async () => {
  await report();
  const [past, future] = [new Date("1999-01-01T00:00:00Z"), new Date("2077-01-01T00:00:00Z")];
  // Touched only: not measured again.
  utimesSync(join(folder, "photos", "one.jpg"), future, future);
  expect(await report()).toMatch(/2 of 2 photographs are unchanged/);
  // Another picture, dated before the first report: measured again.
  await put("two.jpg", "#309030");
  utimesSync(join(folder, "photos", "two.jpg"), past, past);
  expect(await report()).toMatch(/1 of 2 photographs are unchanged/);
  vi.useFakeTimers({ now: past, toFake: ["Date"] });
  try {
    await report();
    expect(checkSumsHold()).toBe(6);
  } finally {
    vi.useRealTimers();
  }
});

test("a folder for measurements is made in a survey folder that is there, and in no other", async () => {
  const results = join(folder, "results");
  await openMeasurementCache(results, {});
  await openMeasurementCache(results, {});
  expect(existsSync(results)).toBe(true);
  // Moved away between two photographs, it was made anew, empty, in its old place.
  renameSync(folder, `${folder}-moved`);
  await expect(openMeasurementCache(results, {})).rejects.toThrow("ENOENT");
  expect(existsSync(folder)).toBe(false);
});
