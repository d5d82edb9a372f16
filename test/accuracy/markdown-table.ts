/** A Markdown table; the first column is aligned left, the others right unless they hold words. */
export function markdownTable(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const cell = (text: string): string => text.replaceAll("|", "\\|").replaceAll(/\s*\n\s*/g, " ");
  const columns = head.map((title, i) => [title, ...rows.map((row) => row[i] ?? "")].map(cell));
  const width = columns.map((texts) => Math.max(3, ...texts.map((text) => text.length)));
  const isNumeric = columns.map(
    (texts, i) => i > 0 && texts.slice(1).every((text) => /^[-+\d. ]*$/.test(text)),
  );
  const line = (texts: readonly string[]): string =>
    `| ${texts.map((text, i) => (isNumeric[i] ? text.padStart(width[i]!) : text.padEnd(width[i]!))).join(" | ")} |`;
  const rule = width.map((n, i) => (isNumeric[i] ? `${"-".repeat(n - 1)}:` : "-".repeat(n)));
  return [
    line(columns.map((texts) => texts[0]!)),
    `| ${rule.join(" | ")} |`,
    ...rows.map((_, r) => line(columns.map((texts) => texts[r + 1]!))),
  ].join("\n");
}
