import { readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import type { Browser, Page } from "playwright-core";
import { writeBetweenMarks } from "../accuracy/insert-between-marks.js";
import { markdownTable } from "../accuracy/markdown-table.js";
import { chromiumPath, launchChromium } from "../browser/launch-chromium.js";
import { openPage, putPhoto, send, signIn, tinyPicture, worstFrameMs } from "../page/page-fixture.js";
import { median } from "./measure-speed.js";
import { trayPhoto, wheelCount } from "./tray-photo.js";

const usage = `Time the page by the bench in Chromium, as its user meets it.

  npx tsx test/bench/run-page.ts [OPTIONS]

--rounds N    (default 5)
--write       put the table into DEVELOPERS.md
`;

const projectFolder = fileURLToPath(new URL("../..", import.meta.url));

interface PageTimes {
  readonly readyMs: number;
  readonly overlayAfterResultMs: number;
  readonly overlayOnOpeningMs: number;
  readonly worstFrameMs: number;
}

async function main(): Promise<void> {
  const { values } = parseArgs({
    options: { rounds: { type: "string", default: "5" }, write: { type: "boolean", default: false } },
  });
  const rounds = Number(values.rounds);
  const executable = chromiumPath();
  if (!Number.isInteger(rounds) || rounds < 1 || executable === undefined) {
    process.stderr.write(executable === undefined ? "needs Chromium: set CHROMIUM_PATH\n" : usage);
    process.exitCode = 2;
    return;
  }
  const photo = await trayPhoto(projectFolder, "12mp");
  const browser = await launchChromium(executable);
  const times: PageTimes[] = [];
  try {
    // The first round starts the browser's processes, and is not counted.
    for (let round = 0; round <= rounds; round++) {
      process.stderr.write(`round ${round}\n`);
      const worstFrameMs = await worstFrameOfList(browser);
      const took = { ...(await overlayTimes(browser, photo)), worstFrameMs };
      if (round > 0) times.push(took);
    }
  } finally {
    await browser.close();
  }
  const row = (what: string, key: keyof PageTimes, barMs: number): string[] => {
    const middle = median(times.map((each) => each[key]));
    const worst = Math.max(...times.map((each) => each[key]));
    return [
      what,
      `${middle.toFixed(0)} ms`,
      `${worst.toFixed(0)} ms`,
      `under ${barMs} ms`,
      middle < barMs ? "met" : "not met",
    ];
  };
  const text = `The page in Chromium, ${rounds} times; a rendered photograph of ${wheelCount} wheels, 12mp.

${markdownTable(
  ["what", "median", "longest", "bar", "verdict"],
  [
    row("page ready, from the address to the last of its files", "readyMs", 1000),
    row("marks over the photograph, from the arrival of its result to the next picture", "overlayAfterResultMs", 100),
    row("the same, from opening a photograph measured before", "overlayOnOpeningMs", 1000),
    row("longest picture while 200 photographs scroll", "worstFrameMs", 300),
  ],
)}
`; // prettier-ignore
  process.stdout.write(text);
  if (values.write) await writeBetweenMarks(join(projectFolder, "DEVELOPERS.md"), "page-bench", text);
  // Vite and the page's workers keep threads that nobody waits for.
  process.exit();
}

/** Runs in the page before its own script: when did the result come, and when were marks drawn? */
function watchForMarks(): void {
  const told: { result?: number; marks?: number } = {};
  Object.assign(window, { told });
  const Plain = window.EventSource;
  window.EventSource = class extends Plain {
    constructor(url: string | URL, init?: EventSourceInit) {
      super(url, init);
      this.addEventListener("message", ({ data }: MessageEvent<string>) => {
        const event = JSON.parse(data) as { type: string; detail?: { measured?: object } };
        if (event.detail?.measured) told.result = performance.now();
      });
    }
  };
  new MutationObserver(() => {
    if (told.marks !== undefined || !document.querySelector(".marks .tip")) return;
    // A task queued within the frame's callback runs once that frame has been drawn.
    requestAnimationFrame(() => setTimeout(() => (told.marks ??= performance.now())));
  }).observe(document, { childList: true, subtree: true });
}

async function overlayTimes(browser: Browser, photo: string): Promise<Omit<PageTimes, "worstFrameMs">> {
  const page = await openPage({ prepare: (folder) => putPhoto(folder, "tray.jpg", readFileSync(photo)) });
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  context.setDefaultTimeout(120_000);
  try {
    const tab = await context.newPage();
    await tab.addInitScript(watchForMarks);
    await tab.goto(page.url);
    await tab.getByRole("heading", { name: "Photographs" }).waitFor();
    const readyMs = await tab.evaluate(() => performance.getEntriesByType("navigation")[0]!.duration);
    await tab.locator(".photo-card a").click();
    const { result, marks } = await marksDrawn(tab);
    if (result === undefined) throw new Error("the result did not come by itself");
    const again = await context.newPage();
    await again.addInitScript(watchForMarks);
    await again.goto(tab.url());
    const opened = await marksDrawn(again);
    return { readyMs, overlayAfterResultMs: marks - result, overlayOnOpeningMs: opened.marks };
  } finally {
    await context.close();
    await page.end();
  }
}

async function marksDrawn(tab: Page): Promise<{ result?: number; marks: number }> {
  const handle = await tab.waitForFunction(() => {
    const { told } = window as unknown as { told: { result?: number; marks?: number } };
    return told.marks === undefined ? undefined : told;
  });
  return (await handle.jsonValue()) as { result?: number; marks: number };
}

async function worstFrameOfList(browser: Browser): Promise<number> {
  const pictures = await Promise.all(
    Array.from({ length: 200 }, (_, i) => tinyPicture(`rgb(${i},${(i * 7) % 255},90)`)),
  );
  const page = await openPage({
    prepare: (folder) => pictures.forEach((data, i) => putPhoto(folder, `${i + 1}.jpg`, data)),
  });
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  try {
    const headers = await signIn(page);
    // Measuring would keep the processor busy, and is not what is asked here.
    await send(page.port, "/api/surveys/clock/cancel", {
      method: "POST",
      headers: { ...headers, "content-type": "application/json" },
      body: "{}",
    });
    const tab = await context.newPage();
    await tab.goto(page.url);
    await tab.locator(".photo-card").nth(199).waitFor();
    return await worstFrameMs(tab);
  } finally {
    await context.close();
    await page.end();
  }
}

await main();
