import { existsSync } from "node:fs";
import { delimiter, join } from "node:path";
import { chromium, type Browser } from "playwright-core";

/** The browser of the machine: CHROMIUM_PATH, or chromium on the PATH; undefined if there is none. */
export function chromiumPath(): string | undefined {
  const given = process.env["CHROMIUM_PATH"];
  if (given !== undefined && given !== "") return given;
  return (process.env["PATH"] ?? "")
    .split(delimiter)
    .map((folder) => join(folder, "chromium"))
    .find((path) => existsSync(path));
}

/** Headless, and asking nobody on the network for anything of its own. */
export const launchChromium = (executablePath: string): Promise<Browser> =>
  chromium.launch({
    executablePath,
    args: [
      "--headless",
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
