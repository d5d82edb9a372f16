import { expect, test } from "vitest";
import { flankOfWall, usualWall, weighCentres } from "../../../src/parts/wheel/weigh-centres.js";

const share = 0.2;
/** What the camera would see of the wall if all of it were metal: 0.3 mm, to the left. */
const drawnMm = -0.3;
const trueMm = 0.04;

/** A centre as it comes out with the usual share taken off, where the wall in fact has `share`. */
const byEdge = (drawnPerShare: number): Parameters<typeof weighCentres>[0] => ({
  mm: [trueMm + drawnPerShare * (share - usualWall.share), 0],
  perShareMm: [-drawnPerShare, 0],
  uMm: 0.001,
});

test("tips that show no wall and spacing that does tell its share between them, and the centre", () => {
  const { mm, wall, tipsMm, spacingMm } = weighCentres(byEdge(0), byEdge(flankOfWall * drawnMm), usualWall);
  // Nearly exact: what was believed of the share hardly counts against a thousandth of a millimetre.
  expect(mm[0]).toBeCloseTo(trueMm, 3);
  expect(wall.share).toBeCloseTo(share, 1);
  expect(Math.abs(tipsMm[0] - spacingMm[0])).toBeLessThan(0.001);
});

test("a wall that draws tips and spacing alike stays as doubtful as it was, and so does the centre with it", () => {
  const { uMm, wall, withShareMm } = weighCentres(byEdge(drawnMm), byEdge(drawnMm), usualWall);
  expect(wall.u).toBeCloseTo(usualWall.u, 3);
  // What draws the centre by 0.3 mm for all of it, by a quarter of that for a standard uncertainty.
  expect(Math.abs(withShareMm[0])).toBeCloseTo(0.3 * usualWall.u ** 2, 3);
  // Of the two coordinates only one is drawn.
  expect(uMm).toBeCloseTo((0.3 * usualWall.u) / Math.SQRT2, 2);
});
