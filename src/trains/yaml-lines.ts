import { isAlias, isMap, isPair, isScalar, isSeq, LineCounter, parseDocument } from "yaml";
import type { Mistake, Reading } from "./mistake.js";

/** A YAML file as plain data, with the line of every value. */
export interface LinedData {
  readonly data: unknown;
  /** Line of the value at a path, or of the nearest value around it that has one. */
  readonly lineOf: (path: readonly PropertyKey[]) => number;
}

const tooDeep: Reading<never> = {
  ok: false,
  mistakes: [{ text: "this file is nested too deeply to be a movement" }],
};

const largestText = 256 * 1024;
const deepest = 12;

/**
 * Reads YAML text, keeping lines. Keys are taken in lower case with single spaces, so that `count wheel`,
 * `Count-Wheel` and `count_wheel` are one word; names of arbors go through the same mill. A lone `?` is
 * read as the text "?", since that is how a person marks a lost wheel (YAML itself gives it another meaning).
 */
export function readYamlLines(text: string): Reading<LinedData> {
  if (text.length > largestText)
    return { ok: false, mistakes: [{ text: "this file is over 256 kB: a movement takes a page of text" }] };
  const counter = new LineCounter();
  const lines = new Map<string, number>();
  const mistakes: Mistake[] = [];
  let data: unknown;
  try {
    const document = parseDocument(quoteQuestionMarks(text), {
      lineCounter: counter,
      prettyErrors: false,
      logLevel: "error",
    });
    // One error leads to others after it: the first of a line is worth reading, and only the first few.
    for (const { code, message, pos } of document.errors) {
      if (code === "RESOURCE_EXHAUSTION" || /call stack/i.test(message)) return tooDeep;
      const { line } = counter.linePos(pos[0]);
      if (mistakes.length < 5 && !mistakes.some((known) => known.line === line))
        mistakes.push({ line, text: plainYamlError(code, message) });
    }
    if (mistakes.length > 0) return { ok: false, mistakes };
    data = toPlain(document.contents, []);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return tooDeep;
  }
  if (mistakes.length > 0) return { ok: false, mistakes };
  return { ok: true, value: { data, lineOf } };

  function toPlain(node: unknown, path: readonly PropertyKey[]): unknown {
    const line = lineOfNode(node);
    if (line !== undefined && !lines.has(keyOf(path))) lines.set(keyOf(path), line);
    if (path.length > deepest) {
      mistakes.push({ ...(line && { line }), text: "this is nested deeper than anything in a movement" });
      return undefined;
    }
    if (isAlias(node)) {
      mistakes.push({
        ...(line && { line }),
        text: "write the value out again: & and * marks are not used here",
      });
      return undefined;
    }
    if (isMap(node)) {
      const plain = Object.create(null) as Record<string, unknown>;
      for (const pair of node.items) {
        if (!isPair(pair)) continue;
        const keyLine = lineOfNode(pair.key) ?? line;
        const key = isScalar(pair.key) ? plainKey(String(pair.key.value)) : "";
        if (key === "" || key === "proto" || key in plain) {
          const text =
            key in plain
              ? `"${key}" stands here twice; keep one (names that differ only in spaces, hyphens or capitals are the same)`
              : "a plain name was expected before the colon";
          mistakes.push({ ...(keyLine && { line: keyLine }), text });
          continue;
        }
        if (keyLine !== undefined) lines.set(keyOf([...path, key]), keyLine);
        plain[key] = toPlain(pair.value, [...path, key]);
      }
      return plain;
    }
    if (isSeq(node)) return node.items.map((item, i) => toPlain(item, [...path, i]));
    return isScalar(node) ? node.value : undefined;
  }

  function lineOfNode(node: unknown): number | undefined {
    const start = (node as { range?: readonly number[] | null } | null)?.range?.[0];
    return start === undefined ? undefined : counter.linePos(start).line;
  }

  function lineOf(path: readonly PropertyKey[]): number {
    for (let length = path.length; length > 0; length--) {
      const line = lines.get(keyOf(path.slice(0, length)));
      if (line !== undefined) return line;
    }
    return 1;
  }
}

const keyOf = (path: readonly PropertyKey[]): string => JSON.stringify(path.map(String));

const plainKey = (key: string): string =>
  key
    .trim()
    .toLowerCase()
    .replace(/[\s_-]+/g, " ")
    .trim();

const quoteQuestionMarks = (text: string): string =>
  text.replace(/(:[ \t]+)\?(?=[ \t]*(?:[,}\]#\r\n]|$))/g, "$1'?'");

function plainYamlError(code: string, message: string): string {
  switch (code) {
    case "DUPLICATE_KEY":
      return "this name stands here twice; keep one";
    case "TAB_AS_INDENT":
      return "a tab stands at the start of the line; indent with spaces";
    case "MULTIPLE_DOCS":
      return "a second document begins here (---); one file holds one movement";
    default:
      return `this line cannot be read as YAML (${firstLine(message)}); check brackets, colons and indentation`;
  }
}

const firstLine = (message: string): string => message.split("\n")[0]!.replace(/\s+at line.*$/, "");
