import { spawn } from "node:child_process";
import { createRequire } from "node:module";
import { fileURLToPath, pathToFileURL } from "node:url";
import type { FolderServices } from "../page/index.js";
import type { CommandIo } from "./command-io.js";
import { openMeasurementCache, sha256OfFile } from "./report-cache.js";
import { makeFolder, removePartials, writeWhole } from "./report-write.js";
import { terminalText } from "./terminal-text.js";

export interface PageCommandOptions {
  readonly port?: number;
  readonly open?: boolean;
  readonly workers?: number;
}

/** What `report` knows of survey folders, for the page. */
export const folderServices: FolderServices = {
  openMeasurements: openMeasurementCache,
  sha256OfFile,
  writeWhole,
  makeFolder: async (folder) => {
    await makeFolder(folder);
  },
  removePartials,
  matReadings: async (name) => {
    const { readRememberedMat } = await import("../mat/index.js");
    const { acrossMm, alongMm, paper } = await readRememberedMat(name);
    return { matAcrossMm: acrossMm, matAlongMm: alongMm, matPaper: paper };
  },
  makeReport,
};

/**
 * Serves the page until it is interrupted.
 *
 * @throws UsageError if folder, port or client cannot be used.
 */
export async function runPage(
  folder: string | undefined,
  options: PageCommandOptions,
  io: CommandIo,
): Promise<void> {
  const { startPage } = await import("../page/index.js");
  const page = await startPage({
    ...(folder === undefined ? {} : { folder }),
    base: process.cwd(),
    ...(options.port === undefined ? {} : { port: options.port }),
    ...(options.workers === undefined ? {} : { workers: options.workers }),
    services: folderServices,
    onUnexpected: (error) => {
      const words = error instanceof Error ? (error.stack ?? error.message) : String(error);
      io.stderr.write(`unexpected error, please report it:\n${terminalText(words, "\n")}\n`);
    },
  });
  io.stdout.write(`${page.url}\n`);
  io.stderr.write("The page is open at this address, on this computer only. Ctrl+C ends it.\n");
  if (options.open !== false) openBrowser(page.url);
  await new Promise<void>((resolve) => {
    for (const signal of ["SIGINT", "SIGTERM"] as const) process.once(signal, () => resolve());
  });
  await page.close();
}

/** Opens an address of our own making in the usual browser; where that fails, the address stands on the terminal. */
function openBrowser(url: string): void {
  const [program, ...args] =
    process.platform === "darwin"
      ? ["open", url]
      : process.platform === "win32"
        ? ["rundll32", "url.dll,FileProtocolHandler", url]
        : ["xdg-open", url];
  const child = spawn(program, args, { stdio: "ignore", detached: true });
  child.on("error", () => undefined);
  child.unref();
}

/** Runs `wheelsurvey report` on the folder as a process of its own: the page stays at hand meanwhile. */
function makeReport(folder: string, signal: AbortSignal): ReturnType<FolderServices["makeReport"]> {
  const built = import.meta.url.endsWith(".js");
  const cli = fileURLToPath(new URL(built ? "../cli.js" : "../cli.ts", import.meta.url));
  const tsx = built ? [] : ["--import", pathToFileURL(createRequire(import.meta.url).resolve("tsx")).href];
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [...tsx, cli, "report", folder], {
      stdio: ["ignore", "ignore", "pipe"],
      signal,
    });
    let words = "";
    child.stderr.on("data", (chunk: Buffer) => {
      if (words.length < 20_000) words += chunk.toString();
    });
    child.on("error", (error) => resolve({ ok: false, words: error.message }));
    child.on("close", (code) => {
      // 3: the report is there, and says which photograph gave no part.
      const ok = code === 0 || code === 3;
      const last = words
        .trim()
        .split("\n")
        .slice(-4)
        .join("\n")
        .replace(/^error: /, "");
      resolve({ ok, words: ok ? "" : last === "" ? "the report was not made" : last });
    });
  });
}
