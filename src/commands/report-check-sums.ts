import { createHash } from "node:crypto";
import { relative, sep } from "node:path";
import type { PhotoRecord } from "../record/index.js";

export const sha256Of = (data: string | Uint8Array): string =>
  createHash("sha256").update(data).digest("hex");

/** A line as `sha256sum --check` reads it: names with a backslash or a line break are escaped and marked. */
function line(sha256: string, name: string): string {
  const escaped = name.replaceAll("\\", "\\\\").replaceAll("\n", "\\n").replaceAll("\r", "\\r");
  return `${escaped === name ? "" : "\\"}${sha256}  ${escaped}\n`;
}

/** Reads a line back: check-sum and name; undefined for anything else. */
export function readCheckSumLine(
  text: string,
): { readonly sha256: string; readonly name: string } | undefined {
  const match = /^(\\?)([0-9a-f]{64}) [ *](.+)$/.exec(text);
  if (!match) return undefined;
  const [, escaped, sha256, name] = match;
  const plain = escaped
    ? name!.replace(/\\(.)/g, (_, c: string) => (c === "n" ? "\n" : c === "r" ? "\r" : c))
    : name!;
  return { sha256: sha256!, name: plain };
}

/**
 * Check-sums of everything that belongs to a report, names relative to its folder, so that
 * `sha256sum --check SHA256SUMS` can be called there: the report's files, then the photographs.
 */
export function checkSumList(
  files: readonly (readonly [string, string | Uint8Array])[],
  folder: string,
  photoPaths: readonly string[],
  photos: readonly PhotoRecord[],
): string {
  const own = files.map(([name, data]) => line(sha256Of(data), name));
  const originals = photos.flatMap(({ sha256 }, i) =>
    sha256 === undefined ? [] : [line(sha256, relative(folder, photoPaths[i]!).split(sep).join("/"))],
  );
  return [...own, ...originals].join("");
}
