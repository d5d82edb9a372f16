import { execFileSync } from "node:child_process";
import { chromiumPath } from "./launch-chromium.js";

/**
 * Before all tests: a fresh machine has no browser. Where Debian's packages can be installed Chromium is fetched;
 * elsewhere the tests that need it are skipped, and this says so.
 */
export function setup(): void {
  if (chromiumPath() !== undefined) return;
  if (process.platform === "linux" && process.getuid?.() === 0) {
    process.stderr.write("no Chromium found: installing Debian's for the tests of pages\n");
    try {
      for (const words of [["update"], ["install", "-y", "--no-install-recommends", "chromium"]])
        execFileSync("apt-get", words, { stdio: ["ignore", "ignore", "inherit"] });
      return;
    } catch (error) {
      process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
    }
  }
  process.stderr.write(
    "no Chromium: tests of pages are skipped; install it, or name one in CHROMIUM_PATH, to run them\n",
  );
}
