import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { markerBits, tags } from "../../src/mat/index.js";
import { markerOutline } from "../../src/mat/marker-outline.js";

type Loop = ReturnType<typeof markerOutline>[number];

/** Even-odd rule at the middle of a cell: crossings of a ray to the left with upright edges. */
const inside = (loops: readonly Loop[], column: number, row: number): boolean => {
  let crossings = 0;
  for (const loop of loops) {
    loop.forEach(([x0, y0], i) => {
      const [x1, y1] = loop[(i + 1) % loop.length]!;
      const between = Math.min(y0, y1) < row + 0.5 && row + 0.5 < Math.max(y0, y1);
      if (x0 === x1 && x0 < column + 0.5 && between) crossings++;
    });
  }
  return crossings % 2 === 1;
};

const filled = (loops: readonly Loop[], rows: number, columns: number): boolean[][] =>
  Array.from({ length: rows }, (_, row) =>
    Array.from({ length: columns }, (_, column) => inside(loops, column, row)),
  );

describe("markerOutline", () => {
  test("a full square is one loop of four corners", () => {
    const loops = markerOutline([
      [true, true],
      [true, true],
    ]);
    expect(loops).toHaveLength(1);
    expect(loops[0]).toHaveLength(4);
  });

  test("no black cell, no loop", () => {
    expect(markerOutline([[false, false]])).toEqual([]);
  });

  test("filled even-odd, the outline of every tag is the tag again", () => {
    for (const { id } of tags) {
      const bits = markerBits(id);
      expect(filled(markerOutline(bits), 8, 8)).toEqual(bits);
    }
  });

  test("so is any pattern, also where cells touch in a corner only, and every edge is straight", () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(fc.boolean(), { minLength: 5, maxLength: 5 }), { minLength: 1 }),
        (bits) => {
          const loops = markerOutline(bits);
          expect(filled(loops, bits.length, 5)).toEqual(bits);
          for (const loop of loops) {
            loop.forEach(([x0, y0], i) => {
              const [x1, y1] = loop[(i + 1) % loop.length]!;
              expect((x0 === x1) !== (y0 === y1)).toBe(true);
            });
          }
        },
      ),
    );
  });
});
