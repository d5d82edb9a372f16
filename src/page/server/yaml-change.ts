import { isMap, isScalar, parseDocument, type Document, type YAMLMap } from "yaml";
import { PageError } from "./page-error.js";

export const plainKey = (key: string): string =>
  key
    .trim()
    .toLowerCase()
    .replace(/[\s_-]+/g, " ");

/**
 * Sets one value in a YAML text; comments, order and spelling of everything else stay. Keys are found however they
 * are spelt ("Count-Wheel" for "count wheel").
 *
 * @param value null takes the key away.
 * @throws PageError "invalid" if the text cannot be read, or the path leads through something that has no keys.
 */
export function withYamlValue(text: string, path: readonly string[], value: unknown): string {
  // A lone "?" marks a lost count; YAML gives it another meaning unless it stands in quotation marks.
  const document = parseDocument(quoteQuestionMarks(text), { prettyErrors: false, logLevel: "silent" });
  if (document.errors.length > 0)
    throw new PageError(
      "invalid",
      `the file cannot be read as YAML: ${document.errors[0]!.message.split("\n")[0]}`,
    );
  if (path.length === 0 || path.length > 8) throw new PageError("invalid", "expected one to eight keys");
  if (document.contents === null)
    document.contents = document.createNode({}) as unknown as typeof document.contents;
  const found = ownPath(document, path);
  if (value === null) document.deleteIn(found);
  else
    document.setIn(
      found,
      document.createNode(value, found.length > 1 && isObject(value) ? { flow: true } : {}),
    );
  return document.toString({ lineWidth: 110 }).replace(/(:\s+)["']\?["'](?=\s*(?:[,}\]#\n]|$))/g, "$1?");
}

const isObject = (value: unknown): boolean =>
  typeof value === "object" && value !== null && !Array.isArray(value);

const quoteQuestionMarks = (text: string): string =>
  text.replace(/(:[ \t]+)\?(?=[ \t]*(?:[,}\]#\r\n]|$))/g, "$1'?'");

function ownPath(document: Document, path: readonly string[]): string[] {
  const found: string[] = [];
  let node: unknown = document.contents;
  for (const [i, step] of path.entries()) {
    if (node !== undefined && !isMap(node))
      throw new PageError("invalid", `${path.slice(0, i).join(" > ")}: expected a group of keys in the file`);
    const key = isMap(node) ? keyLike(node, step) : undefined;
    found.push(key ?? step);
    node = key === undefined ? undefined : (node as YAMLMap).get(key, true);
    // "owner: A. Sample" has no keys yet to add one to.
    if (i < path.length - 1 && isScalar(node)) {
      const name: unknown = node.value;
      const map = document.createNode(name === null ? {} : { name });
      document.setIn(found, map);
      node = map;
    }
  }
  return found;
}

const keyLike = (map: YAMLMap, step: string): string | undefined =>
  map.items
    .map(({ key }) => (isScalar(key) ? String(key.value) : String(key)))
    .find((key) => plainKey(key) === plainKey(step));
