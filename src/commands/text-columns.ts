/** Left-aligned columns; those that are empty under their head are left out. */
export function columns(rows: readonly (readonly string[])[]): readonly string[] {
  const widths = rows[0]!.map((_, i) =>
    rows.slice(1).every((row) => row[i] === "") ? 0 : Math.max(...rows.map((row) => row[i]!.length)),
  );
  return rows.map((row) =>
    row
      .flatMap((cell, i) => (widths[i] === 0 ? [] : [cell.padEnd(widths[i]!)]))
      .join("  ")
      .trimEnd(),
  );
}
