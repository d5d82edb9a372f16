import { describe, expect, test } from "vitest";
import { depthBySectors } from "../../../src/parts/wheel/depth-by-sectors.js";
import { ThickOutline } from "../../../src/parts/thick-outline.js";
import { faceAt, straightDown } from "../straight-down.js";

const [tipMm, rootMm, pxMm, n] = [24, 22, 0.1, 80];
const angleRad = Float64Array.from({ length: n }, (_, k) => (2 * Math.PI * k) / n);
const mean = (values: readonly number[]): number => values.reduce((s, v) => s + v, 0) / values.length;

/**
 * A wheel 2 mm thick, so far beside the foot point of the camera that its lower edge looks out by 0.7 mm, and all of the wall
 * passes for metal. The circle was centred on the tips that are seen. Marks lie within pointed tips, the further the
 * less walls of the flanks widen them.
 */
function seenFromTheSide(offMm: number) {
  const thick = new ThickOutline(faceAt(straightDown(300), offMm, 0, 2), 2);
  const excess = angleRad.map((t) => thick.rimExcessMm(t, tipMm));
  const centreMm = -0.5 * Math.max(...excess);
  const at = (radiusMm: number, k: number): number =>
    radiusMm + centreMm * Math.cos(angleRad[k]! - Math.PI) + excess[k]!;
  const marks = angleRad.map((t, k) => at(tipMm, k) - 0.05 - 0.2 * Math.abs(Math.cos(t)));
  const middle = mean([...marks]);
  const circle = {
    centreMm: [0, 0] as const,
    uCentreMm: 0.02,
    radialShiftMm: marks.map((m) => m - middle),
  };
  /** The mean of some teeth, lined up by their marks. */
  const fit = (teeth: readonly number[]) => ({
    tipMm: mean(teeth.map((k) => at(tipMm, k) - circle.radialShiftMm[k]!)),
    rootMm: mean(teeth.map((k) => at(rootMm, k) - circle.radialShiftMm[k]!)),
    uTipMm: 0.02,
    uRootMm: 0.02,
    blurMm: 0.1,
    rms: 0.02,
  });
  return { thick, circle, fit };
}

describe("trap 2 at the tips: bright walls, seen from the side", () => {
  const all = [...angleRad.keys()];

  test("tips of all teeth, laid over each other by their marks, come out too far; by sectors they do not", () => {
    const { thick, circle, fit } = seenFromTheSide(130);
    expect(thick.mostRimExcessMm(tipMm)).toBeGreaterThan(0.65);
    // What the mean of all gives: 0.3 mm and more of diameter.
    expect(fit(all).tipMm - tipMm).toBeGreaterThan(0.15);
    const depth = depthBySectors({ angleRad, tipMm }, circle, thick, all, pxMm, fit)!;
    // Half of it is what is added for light on real teeth, which these have not.
    expect(Math.abs(depth.tipMm - tipMm)).toBeLessThan(0.05);
    // Believed is a share of 0.75 ± 0.35 of the wall; here it is all.
    expect(fit(all).rootMm - rootMm).toBeGreaterThan(0.15);
    expect(Math.abs(depth.rootMm - rootMm)).toBeLessThan(0.09);
    expect(Math.abs(depth.tipMm - tipMm)).toBeLessThan(2 * depth.uTipMm);
    expect(Math.abs(depth.rootMm - rootMm)).toBeLessThan(2 * depth.uRootMm);
  });

  test("says nothing where half of the rim is out of view", () => {
    const { thick, circle, fit } = seenFromTheSide(130);
    const half = all.filter((k) => Math.cos(angleRad[k]!) > 0.1);
    expect(depthBySectors({ angleRad, tipMm }, circle, thick, half, pxMm, fit)).toBeUndefined();
  });

  test("is less sure where sectors contradict each other", () => {
    const { thick, circle, fit } = seenFromTheSide(130);
    const sure = depthBySectors({ angleRad, tipMm }, circle, thick, all, pxMm, fit)!;
    const atOdds = depthBySectors({ angleRad, tipMm }, circle, thick, all, pxMm, (teeth) => {
      const depth = fit(teeth);
      // On the far side, to the left and right of its middle.
      const cosine = mean(teeth.map((k) => Math.cos(angleRad[k]!)));
      return { ...depth, tipMm: depth.tipMm + (Math.abs(cosine - 0.7) < 0.1 ? 0.5 : 0) };
    })!;
    expect(atOdds.uTipMm).toBeGreaterThan(1.5 * sure.uTipMm);
  });
});
