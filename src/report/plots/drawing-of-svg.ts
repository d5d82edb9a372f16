import { h, type JSX } from "preact";
import { sans } from "./plot-style.js";

export interface Drawing {
  readonly drawing: JSX.Element;
  readonly width: number;
  readonly height: number;
}

interface Open {
  readonly type: string;
  readonly props: Readonly<Record<string, string>>;
  readonly children: (JSX.Element | string)[];
}

const shapes = new Set(["g", "path", "rect", "circle", "text"]);
/** Say nothing to a reader of the report: its figures have titles of their own. */
const skipped = new Set(["title", "desc", "defs"]);

/**
 * Takes an SVG document of this program (train pictures, cutting outlines) as elements of a figure. Only shapes, groups
 * and text come through; hatching, which a page with many pictures would need an id for, becomes grey with a heavy line.
 *
 * @returns undefined if the document is not of that kind.
 */
export function drawingOfSvg(svg: string): Drawing | undefined {
  const view = /viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(svg);
  const fontSize = /<svg[^>]* font-size="([\d.]+)"/.exec(svg)?.[1];
  if (!view) return undefined;
  const [width, height] = [Number(view[1]), Number(view[2])];
  const root: Open = { type: "g", props: {}, children: [] };
  const stack: Open[] = [root];
  const token = /<(\/?)([a-zA-Z]+)((?:\s+[\w:-]+="[^"]*")*)\s*(\/?)>|<[?!][^>]*>|([^<]+)/g;
  let skip: string | undefined;
  for (const [, closing, type, attributes, selfClosed, words] of svg.matchAll(token)) {
    const top = stack.at(-1)!;
    if (type === undefined) {
      if (words !== undefined && skip === undefined && top.type === "text")
        top.children.push(plainText(words));
      continue;
    }
    if (skip !== undefined) {
      if (closing && type === skip) skip = undefined;
      continue;
    }
    if (type === "svg") continue;
    if (skipped.has(type)) {
      if (!selfClosed) skip = type;
      continue;
    }
    if (!shapes.has(type)) return undefined;
    if (closing) {
      if (stack.length < 2 || top.type !== type) return undefined;
      stack.pop();
      stack.at(-1)!.children.push(h(type, top.props, ...top.children));
      continue;
    }
    const props = propsOf(attributes ?? "");
    // The picture's own white ground: the page is white already.
    if (type === "rect" && props["width"] === "100%") continue;
    if (selfClosed) top.children.push(h(type, props));
    else stack.push({ type, props, children: [] });
  }
  if (stack.length !== 1) return undefined;
  const dress = { "font-family": sans, ...(fontSize === undefined ? {} : { "font-size": fontSize }) };
  return { drawing: h("g", dress, ...root.children), width, height };
}

function propsOf(attributes: string): Record<string, string> {
  const props: Record<string, string> = {};
  for (const [, name, value] of attributes.matchAll(/([\w:-]+)="([^"]*)"/g))
    if (name !== "id" && name !== "font-family") props[name!] = plainText(value!);
  if (props["fill"] === "url(#hatch)") Object.assign(props, { fill: "#dedede", "stroke-width": "2.4" });
  return props;
}

const entities: Readonly<Record<string, string>> = { lt: "<", gt: ">", quot: '"', apos: "'", amp: "&" };

const plainText = (text: string): string =>
  text.replace(/&(?:#(\d+)|#x([\da-f]+)|(\w+));/gi, (whole, decimal, hex, name: string | undefined) => {
    if (name !== undefined) return entities[name] ?? whole;
    return String.fromCodePoint(decimal ? Number(decimal) : Number.parseInt(hex as string, 16));
  });
