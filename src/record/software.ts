import { readFileSync } from "node:fs";

/** Name and version of this program, as its package states them. */
export interface Software {
  readonly name: string;
  readonly version: string;
}

let known: Software | undefined;

/** Reads the package's own description once; the same relative place serves src/ and dist/. */
export function software(): Software {
  if (known === undefined) {
    const text = readFileSync(new URL("../../package.json", import.meta.url), "utf8");
    const { name, version } = JSON.parse(text) as { name: string; version: string };
    known = { name, version };
  }
  return known;
}
