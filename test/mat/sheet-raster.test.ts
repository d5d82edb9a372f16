import { describe, expect, test } from "vitest";
import { describeSheet, markerCornersMm, papers } from "../../src/mat/index.js";
import { renderSheet } from "../scenes/sheet-raster.js";

describe("renderSheet", () => {
  test("ink adds up to the area of what is printed", () => {
    // One lone marker: its black area is counted cell by cell, whatever the pixel grid.
    const whole = describeSheet("a4");
    const marker = whole.markers[5]!;
    const sheet = {
      ...whole,
      markers: [marker],
      bars: [],
      pierceCrosses: [],
      fieldHalfMm: [400, 400] as const,
    };
    const pxPerMm = 3.37;
    const { grey } = renderSheet(sheet, pxPerMm, { printScale: [1.01, 0.99] });
    const patchMm2 = whole.greyPatch.widthMm * whole.greyPatch.heightMm * (127 / 255);
    const inkMm2 = grey.reduce((sum, level) => sum + (1 - level / 255), 0) / pxPerMm ** 2 / (1.01 * 0.99);
    // Code of id 5 in the published list: 0xf31dab3ac, 21 ones (white) of 36 bits; 28 border cells; 2 mm cells.
    expect(marker.id).toBe(5);
    expect(inkMm2 - patchMm2).toBeCloseTo((28 + 15) * 4, 3);
  });

  test.each(papers)(
    "edges of the markers of %s lie where the sheet says, to a thousandth of a pixel",
    (paper) => {
      const sheet = describeSheet(paper);
      const printScale = [0.993, 1.006] as const;
      const raster = renderSheet(sheet, 4.3, { printScale });
      let seen = 0;
      for (const marker of sheet.markers) {
        const [topLeft, , bottomRight] = markerCornersMm(marker).map((corner) =>
          raster.pixelFromSheet(corner),
        );
        // Along the middle of the border's first row of cells everything is black from edge to edge.
        const row = Math.round(topLeft![1] + (bottomRight![1] - topLeft![1]) / 16);
        const middle = Math.round((topLeft![0] + bottomRight![0]) / 2);
        const ink = (from: number, to: number): number => {
          let sum = 0;
          for (let i = from; i < to; i++) sum += 1 - raster.grey[row * raster.width + i]! / 255;
          return sum;
        };
        const reach = Math.ceil(bottomRight![0] - middle) + 3;
        // Pixel i covers i - 0.5 to i + 0.5.
        expect(middle - 0.5 - ink(middle - reach, middle)).toBeCloseTo(topLeft![0], 3);
        expect(middle - 0.5 + ink(middle, middle + reach)).toBeCloseTo(bottomRight![0], 3);
        seen++;
      }
      expect(seen).toBe(sheet.markers.length);
    },
  );
});
