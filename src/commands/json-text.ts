/**
 * One JSON document, readable and not too long: two spaces a level, lists of plain values on one line.
 * Characters that a terminal would obey are written by their number, which JSON reads as the same text.
 */
export const jsonText = (value: unknown): string =>
  `${write(value, "")}\n`.replace(
    /[\u007f-\u009f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]/g,
    (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`,
  );

function write(value: unknown, indent: string): string {
  const inner = `${indent}  `;
  const many = (open: string, items: readonly string[], close: string): string =>
    items.length === 0 ? open + close : `${open}\n${inner}${items.join(`,\n${inner}`)}\n${indent}${close}`;
  if (Array.isArray(value)) {
    const items: readonly unknown[] = value;
    return items.every((item) => isPlain(item) || isPoint(item))
      ? `[${items.map((item) => JSON.stringify(item)).join(", ")}]`
      : many(
          "[",
          items.map((item) => write(item, inner)),
          "]",
        );
  }
  if (typeof value === "object" && value !== null) {
    const entries = Object.entries(value).filter(([, v]) => v !== undefined);
    return many(
      "{",
      entries.map(([key, v]) => `${JSON.stringify(key)}: ${write(v, inner)}`),
      "}",
    );
  }
  return JSON.stringify(value);
}

const isPlain = (value: unknown): boolean => typeof value !== "object" || value === null;
const isPoint = (value: unknown): boolean =>
  Array.isArray(value) && value.length <= 3 && value.every((v) => typeof v === "number");
