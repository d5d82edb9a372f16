import { expect, test } from "vitest";
import { compareWithBackground } from "../../../src/parts/find/background.js";
import { foregroundByColour, withBlownOut } from "../../../src/parts/find/foreground.js";

const [width, height] = [160, 120];

/** Share of a square of 40 pixels on grey paper that is taken for metal, and of the paper. */
function metalIn(squareRgb: readonly number[], paperCode: number): { square: number; paper: number } {
  const rgb = new Uint8Array(3 * width * height).fill(paperCode);
  const isSquare = (p: number): boolean =>
    Math.abs((p % width) - 80) < 20 && Math.abs(Math.floor(p / width) - 60) < 20;
  for (let p = 0; p < width * height; p++) if (isSquare(p)) rgb.set(squareRgb, 3 * p);
  const where = new Uint8Array(width * height).fill(1);
  const picture = { width, height, rgb, factor: 1 };
  const against = compareWithBackground(picture, where, true)!;
  const { mask } = withBlownOut(foregroundByColour(against, where, true), against, where, rgb);
  const share = (of: boolean): number => {
    const places = [...mask.keys()].filter((p) => isSquare(p) === of);
    return places.filter((p) => mask[p] !== 0).length / places.length;
  };
  return { square: share(true), paper: share(false) };
}

test("brass that flash has made as white as can be stored is metal, for paper is greyer", () => {
  expect(metalIn([255, 255, 255], 225)).toEqual({ square: 1, paper: 0 });
});

test("a place that is whiter than the paper beside it, but not blown out, is none", () => {
  expect(metalIn([240, 240, 240], 225)).toEqual({ square: 0, paper: 0 });
});
