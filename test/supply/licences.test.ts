import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";

interface Locked {
  readonly license?: string;
  readonly dev?: boolean;
  readonly hasInstallScript?: boolean;
  readonly integrity?: string;
  readonly link?: boolean;
}
const project = (path: string): string => fileURLToPath(new URL(`../../${path}`, import.meta.url));
const lock = JSON.parse(readFileSync(project("package-lock.json"), "utf8")) as {
  packages: Record<string, Locked>;
};
/** What a user gets by installing the package. */
const shipped = Object.entries(lock.packages).filter(([path, { dev }]) => path !== "" && dev !== true);

/** SPDX names. LGPL: parts of sharp and of the HEIC decoder, linked at run time and replaceable. */
const compatible = new Set([
  "MIT",
  "ISC",
  "0BSD",
  "BSD-2-Clause",
  "BSD-3-Clause",
  "Apache-2.0",
  "OFL-1.1",
  "CC0-1.0",
  "LGPL-3.0",
  "LGPL-3.0-or-later",
]);
/** Packages whose licence stands in a file of theirs. */
const readByEye: Readonly<Record<string, string>> = {
  // LICENSE: Bitstream Vera terms, free to use and embed.
  "dejavu-fonts-ttf": "Bitstream-Vera",
  // LICENSE: MIT.
  "png-js": "MIT",
};

test("every package that is shipped has a licence that goes with MIT", () => {
  expect(shipped.length).toBeGreaterThan(40);
  for (const [path, { license }] of shipped) {
    const name = path.replace(/.*node_modules\//, "");
    if (readByEye[name] !== undefined) continue;
    const parts = (license ?? "none stated").replaceAll(/[()]/g, "").split(/ AND | OR /);
    const isFine = license?.includes(" OR ")
      ? parts.some((part) => compatible.has(part))
      : parts.every((part) => compatible.has(part));
    expect(isFine, `${name}: ${license ?? "none stated"}`).toBe(true);
  }
});

test("no install script of a shipped package needs to run", () => {
  const { allowScripts } = JSON.parse(readFileSync(project("package.json"), "utf8")) as {
    allowScripts: Record<string, boolean>;
  };
  const scripted = shipped
    .filter(([, { hasInstallScript }]) => hasInstallScript === true)
    .map(([path]) => path.replace(/.*node_modules\//, ""));
  expect(scripted).toContain("onnxruntime-node");
  for (const name of scripted) expect(allowScripts[name], name).toBe(false);
});

test("the lock file holds no package without a check-sum", () => {
  const unsealed = Object.entries(lock.packages).filter(
    ([path, { integrity, link }]) => path !== "" && link !== true && integrity === undefined,
  );
  expect(unsealed.map(([path]) => path)).toEqual([]);
});
