import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { request } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Page } from "playwright-core";
import { build } from "vite";
import { folderServices } from "../../src/commands/run-page.js";
import { startPage, type FolderServices, type PageOptions, type RunningPage } from "../../src/page/index.js";

const project = fileURLToPath(new URL("../../", import.meta.url));

/** One wheel on the mat, rendered: see samples/README.md. */
export const samplePhoto = join(project, "samples/demo-survey/photos/01-centre-wheel.jpg");

let built: Promise<string> | undefined;

/** The client built from its source as it is now, once for each test file, in a folder of its own. */
export function builtClient(): Promise<string> {
  built ??= (async () => {
    const outDir = mkdtempSync(join(tmpdir(), "page-client-"));
    process.on("exit", () => rmSync(outDir, { recursive: true, force: true }));
    await build({
      configFile: join(project, "src/page/client/vite.config.ts"),
      logLevel: "error",
      build: { outDir },
    });
    return `${outDir}/`;
  })();
  return built;
}

export interface OpenPage extends RunningPage {
  /** The survey folder. */
  readonly folder: string;
  /** Everything, surveys and what lies outside of them. */
  readonly root: string;
  readonly unexpected: unknown[];
  readonly end: () => Promise<void>;
}

/** A page over a fresh folder. */
export async function openPage(
  options: Partial<Omit<PageOptions, "services">> & {
    readonly prepare?: (folder: string) => void;
    readonly services?: Partial<FolderServices>;
  } = {},
): Promise<OpenPage> {
  const { prepare, services, ...rest } = options;
  const root = mkdtempSync(join(tmpdir(), "page-"));
  const folder = join(root, "clock");
  mkdirSync(join(folder, "photos"), { recursive: true });
  prepare?.(folder);
  const unexpected: unknown[] = [];
  const page = await startPage({
    folder,
    base: root,
    services: { ...folderServices, ...services },
    clientFolder: await builtClient(),
    captureAddresses: () => ["127.0.0.1"],
    onUnexpected: (error) => unexpected.push(error),
    workers: 1,
    ...rest,
  });
  return {
    ...page,
    folder,
    root,
    unexpected,
    end: async () => {
      await page.close();
      rmSync(root, { recursive: true, force: true });
    },
  };
}

export interface Answer {
  readonly status: number;
  readonly headers: Readonly<Record<string, string | string[] | undefined>>;
  readonly text: string;
  readonly json: () => unknown;
}

export interface Asking {
  readonly method?: string;
  readonly headers?: Readonly<Record<string, string>>;
  readonly body?: string | Buffer;
}

/** A request with exactly the headers named: unlike fetch, it lets Host and Origin be forged and paths stand as they are. */
export function send(
  port: number,
  path: string,
  { method = "GET", headers = {}, body }: Asking = {},
): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const asked = request({
      agent: false,
      host: "127.0.0.1",
      port,
      path,
      method,
      headers: { host: `127.0.0.1:${port}`, ...headers },
    });
    asked.on("error", reject);
    asked.on("response", (response) => {
      const chunks: Buffer[] = [];
      response.on("data", (chunk: Buffer) => chunks.push(chunk));
      response.on("error", reject);
      response.on("end", () => {
        const text = Buffer.concat(chunks).toString();
        resolve({
          status: response.statusCode ?? 0,
          headers: response.headers,
          text,
          json: () => JSON.parse(text) as unknown,
        });
      });
    });
    asked.end(body);
  });
}

/** Brings the secret, and gives the headers of a window that is signed in. */
export async function signIn(page: RunningPage): Promise<Record<string, string>> {
  const url = new URL(page.url);
  const { headers } = await send(page.port, `${url.pathname}${url.search}`);
  const cookie = String(headers["set-cookie"]).split(";")[0]!;
  return { cookie, origin: `http://127.0.0.1:${page.port}` };
}

/** A small picture that is a JPEG, and no wheel. */
export async function tinyPicture(colour: string): Promise<Buffer> {
  const { default: sharp } = await import("sharp");
  return sharp({ create: { width: 64, height: 48, channels: 3, background: colour } })
    .jpeg()
    .toBuffer();
}

export const putPhoto = (folder: string, name: string, data: Buffer | string): void =>
  writeFileSync(join(folder, "photos", name), typeof data === "string" ? readFileSync(data) : data);

/** Scrolls a page from top to end in sixty steps; the longest time from one picture to the next, ms. */
export const worstFrameMs = (tab: Page): Promise<number> =>
  tab.evaluate(async () => {
    let last = performance.now();
    let worst = 0;
    for (let i = 0; i < 60; i++) {
      window.scrollBy(0, document.documentElement.scrollHeight / 60);
      await new Promise((done) => requestAnimationFrame(done));
      const now = performance.now();
      if (i > 3) worst = Math.max(worst, now - last);
      last = now;
    }
    return worst;
  });

/** Three photographs of a wheel whose arbor was turned, rendered, in the folder of a set: see samples/README.md. */
export function putSet(folder: string): void {
  mkdirSync(join(folder, "photos", "turn-T3"));
  for (const n of [1, 2, 3])
    putPhoto(folder, `turn-T3/turn-${n}.jpg`, join(project, `samples/sets/turn-eccentric-0.10/${n}.jpg`));
}
