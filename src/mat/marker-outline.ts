/** A corner between cells: columns from the left edge of the marker, rows from its top edge. */
export type CellCorner = readonly [column: number, row: number];

/**
 * Outlines of the black cells as closed loops, so that a marker prints as one filled shape without
 * hairlines between its cells. Loops run along straight edges and turn at every point; fill them even-odd.
 *
 * @param bits rows of cells from the top, true = black (see `markerBits`).
 */
export function markerOutline(bits: readonly (readonly boolean[])[]): CellCorner[][] {
  const black = (column: number, row: number): boolean => bits[row]?.[column] ?? false;
  const key = (column: number, row: number): string => `${column},${row}`;
  // Each edge between black and white once, black on its right hand (rows run downwards).
  const edgesFrom = new Map<string, CellCorner[]>();
  const edge = (from: CellCorner, to: CellCorner): void => {
    const list = edgesFrom.get(key(...from));
    if (list) list.push(to);
    else edgesFrom.set(key(...from), [to]);
  };
  bits.forEach((cells, row) =>
    cells.forEach((isBlack, column) => {
      if (!isBlack) return;
      if (!black(column, row - 1)) edge([column, row], [column + 1, row]);
      if (!black(column + 1, row)) edge([column + 1, row], [column + 1, row + 1]);
      if (!black(column, row + 1)) edge([column + 1, row + 1], [column, row + 1]);
      if (!black(column - 1, row)) edge([column, row + 1], [column, row]);
    }),
  );
  const loops: CellCorner[][] = [];
  for (const [start, ends] of edgesFrom) {
    while (ends.length > 0) {
      // As many edges enter a corner as leave it, so the walk can only end where it began. Where two black
      // cells touch in a corner either way on is right: even-odd filling does not ask how loops are joined.
      const walk: CellCorner[] = [];
      let here = start;
      do {
        const next = edgesFrom.get(here)!.pop()!;
        walk.push(next);
        here = key(...next);
      } while (here !== start);
      loops.push(withoutStraightPoints(walk));
    }
  }
  return loops;
}

function withoutStraightPoints(loop: readonly CellCorner[]): CellCorner[] {
  return loop.filter((point, i) => {
    const before = loop.at(i - 1)!;
    const after = loop[(i + 1) % loop.length]!;
    return !(
      (before[0] === point[0] && point[0] === after[0]) ||
      (before[1] === point[1] && point[1] === after[1])
    );
  });
}
