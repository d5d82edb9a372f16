import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { prepareReport, renderHtml } from "../../src/report/index.js";
import { evaluateTrains } from "../../src/commands/report-trains.js";
import { exampleMovements } from "../../src/trains/index.js";
import { movementOf } from "../trains/evaluated.js";
import { inventedSurvey } from "../report/invented-survey.js";
import { chromiumPath, launchChromium } from "./launch-chromium.js";

const executable = chromiumPath();
const axe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");

interface AxeResult {
  readonly violations: readonly {
    readonly id: string;
    readonly help: string;
    readonly nodes: readonly { readonly html: string }[];
  }[];
  readonly passes: readonly unknown[];
}

// CI installs Chromium for this folder; on a machine without it nothing here can be told.
describe.skipIf(executable === undefined)("the report in a browser", () => {
  const folder = mkdtempSync(join(tmpdir(), "report-page-"));
  let browser: Browser;
  let file: string;
  beforeAll(async () => {
    browser = await launchChromium(executable!);
    file = await writeReport("report.html", {});
  });
  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  async function writeReport(name: string, statement: Parameters<typeof inventedSurvey>[0]): Promise<string> {
    const { survey, photos } = await inventedSurvey(statement);
    // Trains drawn, one count lost and worked out: every kind of page that a report has.
    const movement = movementOf(exampleMovements.get("missing-wheel")!);
    const { result, papers } = await evaluateTrains(movement, survey.measurement.photos);
    const { content, pictures, fontFaces } = await prepareReport(
      { ...survey, trains: result },
      (i) => Promise.resolve(photos[i]),
      { papers },
    );
    const path = join(folder, name);
    writeFileSync(path, renderHtml(content, pictures, { fontFaces }));
    return path;
  }

  /** Opens the file and keeps everything it asked for and complained about. */
  async function open(
    path: string,
    width = 1000,
  ): Promise<{ page: Page; requests: string[]; complaints: string[] }> {
    const context = await browser.newContext({ viewport: { width, height: 900 } });
    const page = await context.newPage();
    const requests: string[] = [];
    const complaints: string[] = [];
    page.on("request", (request) => requests.push(request.url()));
    page.on("console", (message) => complaints.push(message.text()));
    page.on("pageerror", (error) => complaints.push(error.message));
    page.on("dialog", (dialog) => {
      complaints.push(`dialog ${dialog.message()}`);
      void dialog.dismiss();
    });
    await page.goto(pathToFileURL(path).href);
    return { page, requests, complaints };
  }

  test("asks for nothing but itself, and complains of nothing", async () => {
    const { page, requests, complaints } = await open(file);
    expect(requests.filter((url) => !url.startsWith("data:"))).toEqual([pathToFileURL(file).href]);
    expect(complaints).toEqual([]);
    // The style was accepted by the page's own policy.
    expect(await page.evaluate("getComputedStyle(document.querySelector('table')).borderCollapse")).toBe(
      "collapse",
    );
    // So were the fonts that it brings along.
    expect(await page.evaluate("document.fonts.check('16px \"Source Serif 4\"')")).toBe(true);
    expect(
      await page.evaluate("[...document.fonts].filter((f) => f.status === 'loaded').length"),
    ).toBeGreaterThan(2);
    await page.context().close();
  });

  test("has no fault that axe can find", async () => {
    // The policy of the page forbids scripts, also this one's: it is lifted for the check only.
    const context = await browser.newContext({ bypassCSP: true, viewport: { width: 1000, height: 900 } });
    const page = await context.newPage();
    await page.goto(pathToFileURL(file).href);
    await page.addScriptTag({ content: readFileSync(axe, "utf8") });
    const result: AxeResult = await page.evaluate("axe.run(document, { resultTypes: ['violations'] })");
    const found = result.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes[0]?.html.slice(0, 120)}`);
    expect(found).toEqual([]);
    // It did look: contrast, headings, tables and alternatives are among the rules passed.
    expect(result.passes.length).toBeGreaterThan(20);
    await context.close();
  }, 180_000);

  test("stays within its width on a phone and on a desk", async () => {
    for (const width of [360, 1000, 1600]) {
      const { page } = await open(file, width);
      const overflow = await page.evaluate("document.documentElement.scrollWidth - window.innerWidth");
      expect(overflow, `at ${width} px`).toBeLessThanOrEqual(0);
      await page.context().close();
    }
  });

  test("what a table is called can be read whole on a phone, however far the table is moved", async () => {
    const { page } = await open(file, 360);
    for (const moved of [0, 150]) {
      const captions: { left: number; right: number }[] = await page.evaluate(`
        [...document.querySelectorAll(".table")].map((table) => {
          table.scrollLeft = ${moved};
          const { left, right } = table.querySelector("caption span").getBoundingClientRect();
          return { left, right };
        })`);
      expect(captions.length).toBeGreaterThan(3);
      for (const { left, right } of captions) {
        expect(left).toBeGreaterThanOrEqual(0);
        expect(right).toBeLessThanOrEqual(360);
      }
    }
    await page.context().close();
  });

  test("hostile words change neither its behaviour nor its layout", async () => {
    const text = `<script>window.pwned=1</script>"><img src=x onerror=window.pwned=1>\u202E${"W".repeat(10_000)}🕰️`;
    const path = await writeReport("hostile.html", {
      title: text,
      notice: text,
      remarks: text,
      owner: { name: text },
      identification: { maker: text, description: text },
      condition: [{ part: text, text }],
      planned_work: [text],
    });
    const { page, requests, complaints } = await open(path);
    expect(complaints).toEqual([]);
    expect(requests.filter((url) => !url.startsWith("data:"))).toHaveLength(1);
    expect(await page.evaluate("window.pwned")).toBeUndefined();
    expect(await page.evaluate("document.querySelectorAll('script, img').length")).toBe(0);
    expect(
      await page.evaluate("document.documentElement.scrollWidth - window.innerWidth"),
    ).toBeLessThanOrEqual(0);
    // The sections after the hostile words are still there, each below the one before.
    const tops: number[] = await page.evaluate(
      "[...document.querySelectorAll('h2')].map((h) => h.getBoundingClientRect().top)",
    );
    expect(tops.length).toBeGreaterThan(8);
    expect([...tops].sort((a, b) => a - b)).toEqual(tops);
    await page.context().close();
  });

  test("shows what is a fault in print too, where backgrounds are left out", async () => {
    const { page } = await open(file);
    await page.emulateMedia({ media: "print" });
    const colour: string = await page.evaluate(
      "getComputedStyle(document.querySelector('.severity.fault')).color",
    );
    // The ink of the page, #1b1a17.
    expect(colour).toBe("rgb(27, 26, 23)");
    await page.context().close();
  });

  test("prints on the paper that was asked for, with page numbers", async () => {
    const { page } = await open(file);
    const pdf = await page.pdf({ preferCSSPageSize: true });
    // A4 in points, as PDF states it.
    expect(pdf.toString("latin1")).toMatch(/\/MediaBox \[0 0 59[45](\.\d+)? 84[12](\.\d+)?\]/);
    await page.context().close();
  });
});
