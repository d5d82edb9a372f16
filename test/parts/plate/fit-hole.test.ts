import { describe, expect, test } from "vitest";
import { loadOpenCv } from "../find/open-cv.js";
import { fitBevel } from "../../../src/parts/plate/fit-bevel.js";
import { fitHole } from "../../../src/parts/plate/fit-hole.js";
import { layeredEdge, type EdgeProfiles } from "../../../src/parts/plate/layered-edge.js";
import { edgesOf, type HoleEdge, type HoleRay } from "../../../src/parts/plate/read-hole-edge.js";
import { seededRandom } from "../../../src/quantity/index.js";

/** Rays from the origin to an ellipse: closed form (quadratic along the ray). */
function raysTo(
  ellipse: { x: number; y: number; a: number; b: number; angle: number },
  noise: () => number,
): HoleEdge[] {
  const { x, y, a, b, angle } = ellipse;
  const turned = (u: number, v: number): [number, number] => [
    (u * Math.cos(angle) + v * Math.sin(angle)) / a,
    (v * Math.cos(angle) - u * Math.sin(angle)) / b,
  ];
  return Array.from({ length: 96 }, (_, i) => {
    const t = (2 * Math.PI * i) / 96;
    const [p, q] = turned(Math.cos(t), Math.sin(t));
    const [c, d] = turned(-x, -y);
    // |s (p, q) + (c, d)| = 1.
    const [qa, qb, qc] = [p * p + q * q, p * c + q * d, c * c + d * d - 1];
    const s = (-qb + Math.sqrt(qb * qb - qa * qc)) / qa;
    return { angleRad: t, radiusMm: s + noise(), byColour: false, weight: 1 };
  });
}

const noWall = (): number => 0;

interface CvEllipses {
  readonly CV_32FC2: number;
  matFromArray(rows: number, cols: number, type: number, values: readonly number[]): { delete(): void };
  fitEllipse(points: object): {
    readonly center: { readonly x: number; readonly y: number };
    readonly size: { readonly width: number; readonly height: number };
    readonly angle: number;
  };
}

describe("a hole's edge", () => {
  test("second opinion: OpenCV's fitEllipse finds the same centre, diameter and oval", () => {
    const cv = loadOpenCv() as unknown as CvEllipses;
    const random = seededRandom(5);
    for (const oval of [0.05, 0.12, 0.3]) {
      const edges = raysTo(
        { x: 0.04, y: -0.03, a: 1 + oval / 4, b: 1 - oval / 4, angle: 0.6 },
        () => 0.004 * random.normal(),
      );
      const ours = fitHole(edges, noWall, 0.001)!;
      const points = cv.matFromArray(
        edges.length,
        1,
        cv.CV_32FC2,
        edges.flatMap((e) => [e.radiusMm * Math.cos(e.angleRad), e.radiusMm * Math.sin(e.angleRad)]),
      );
      const theirs = cv.fitEllipse(points);
      points.delete();
      // Both see the same noise: 0.004 mm over 96 rays is below 0.001 mm in each.
      expect(ours.xMm).toBeCloseTo(theirs.center.x, 2.5);
      expect(ours.yMm).toBeCloseTo(theirs.center.y, 2.5);
      const [short, long] = [theirs.size.width, theirs.size.height].sort((p, q) => p - q) as [number, number];
      expect(2 * ours.radiusMm).toBeCloseTo((short + long) / 2, 2.3);
      expect(Math.abs(4 * Math.hypot(...ours.ovalMm) - (long - short))).toBeLessThan(0.008);
      expect(Math.abs(4 * Math.hypot(...ours.ovalMm) - oval)).toBeLessThan(0.008);
      const direction = 0.5 * Math.atan2(ours.ovalMm[1], ours.ovalMm[0]);
      expect(direction).toBeCloseTo(0.6, 1);
    }
  });

  test("trap 2: the lower edge of a thick plate, seen on the far side, does not move the hole", () => {
    // Far side along +x: there a wall as bright as the face lets only the lower edge be seen, 0.2 mm further in.
    const lower = (t: number): number => Math.min(0, -0.2 * Math.cos(t));
    const random = seededRandom(8);
    const edges = raysTo({ x: 0, y: 0, a: 1, b: 1, angle: 0 }, () => 0.003 * random.normal()).map((e) => ({
      ...e,
      radiusMm: e.radiusMm + lower(e.angleRad),
    }));
    const naive = fitHole(edges, noWall, 0.001)!;
    const fit = fitHole(edges, (t) => lower(t), 0.001)!;
    expect(Math.hypot(naive.xMm, naive.yMm)).toBeGreaterThan(0.04);
    expect(Math.hypot(fit.xMm, fit.yMm)).toBeLessThan(0.006);
    expect(fit.radiusMm).toBeCloseTo(1, 2);
    expect(4 * Math.hypot(...fit.ovalMm)).toBeLessThan(0.02);
  });

  test("a third of the edge hidden: still the circle", () => {
    const edges = raysTo({ x: 0, y: 0, a: 1.5, b: 1.5, angle: 0 }, noWall).map((e, i) =>
      i < 30 ? { ...e, radiusMm: 0.9 } : e,
    );
    const fit = fitHole(edges, noWall, 0.002)!;
    expect(fit.radiusMm).toBeCloseTo(1.5, 2);
    expect(fit.support).toBeLessThan(0.75);
  });
});

/** Normal distribution function by Simpson's rule, apart from the product's approximation. */
function normal(z: number): number {
  const n = 400;
  const [a, b] = [-9, Math.max(-9, Math.min(9, z))];
  const h = (b - a) / n;
  let sum = 0;
  for (let i = 0; i <= n; i++) {
    const x = a + i * h;
    sum += (i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2) * Math.exp((-x * x) / 2);
  }
  return (sum * h) / 3 / Math.sqrt(2 * Math.PI);
}

describe("an edge with a bevel", () => {
  const sigma = 1.3;
  const bevel = 2.4;
  const options = { lightSigma: sigma, colourSigma: 2.2, bevel, wall: 0, inwards: 5, outwards: 8 };
  const layers = (levels: readonly number[], ends: readonly number[], blur: number): Float64Array =>
    Float64Array.from({ length: 48 }, (_, k) =>
      ends.reduce(
        (sum, end, i) => sum + (levels[i + 1]! - levels[i]!) * normal((k - end) / blur),
        levels[0]!,
      ),
    );
  /** Inside below 20, bevel to 22.4, face 1 beyond; what is inside is grey and has no colour of its own. */
  const profiles = (inside: number, bevelLevel: number): EdgeProfiles => ({
    light: layers([inside, bevelLevel, 1], [20, 20 + bevel], sigma),
    colour: layers([0, bevelLevel, 1], [20, 20 + bevel], 2.2),
  });
  const halfHeight = (p: Float64Array, level = 0.6): number => {
    const k = p.findIndex((v) => v >= level);
    return k - (p[k]! - level) / (p[k]! - p[k - 1]!);
  };

  test.each([0.45, 0.6, 0.8, 1, 1.2])("lies below the bevel, which is %f as bright as the face", (level) => {
    const p = profiles(0.2, level);
    const naive = halfHeight(p.light);
    const { at } = layeredEdge(p, naive, [1, 1], options)!;
    // Half a sample is a quarter of a pixel; half height is off by up to the whole bevel.
    expect(Math.abs(at - 20)).toBeLessThan(Math.max(0.8, 0.7 * (naive - 20)));
    if (level < 0.6) expect(naive - 20).toBeGreaterThan(1.3);
  });

  test("a hole as dark as its bevel was 0.1 mm too wide: other holes say how bright the bevel is", () => {
    const p = profiles(0.55, 0.55);
    // Nothing in the brightness shows where the bevel ends.
    expect(halfHeight(p.light, 0.775) - 20).toBeGreaterThan(2);
    const told = { ...options, bevelLevel: { value: 0.55, u: 0.08 } };
    expect(Math.abs(layeredEdge(p, 21.5, [1, 1], told)!.at - 20)).toBeLessThan(0.7);
  });

  test("a lit wall below the edge passes neither for face nor for bevel", () => {
    const wall = 5;
    const p = {
      light: layers([2, 0.45, 1.05, 1], [20 - wall, 20, 20 + bevel], sigma),
      colour: layers([0, 0.45, 1.05, 1], [20 - wall, 20, 20 + bevel], 2.2),
    };
    expect(Math.abs(layeredEdge(p, 19.5, [1, 1], { ...options, wall })!.at - 20)).toBeLessThan(0.5);
  });

  test("a hole in glare was 0.05 mm off: the bevel is as bright as other bevels, not as the face beside it", () => {
    // The plate glares here by 1.6; its bevels do not.
    const p = {
      light: layers([0.2, 0.75, 1.6], [20, 20 + bevel], sigma),
      colour: layers([0, 0.75, 1.6], [20, 20 + bevel], 2.2),
    };
    const told = { ...options, bevelLevel: { value: 0.75, u: 0.08 } };
    expect(Math.abs(layeredEdge(p, 21.5, [1.6, 1.6], told)!.at - 20)).toBeLessThan(0.3);
  });

  test("the holes of a plate tell how wide their bevel is, and how bright on every side", () => {
    // Seven holes of a plate whose face is brighter on one side; through some of them the lit paper is seen.
    const level = (t: number): number => 0.8 + 0.25 * Math.cos(t - 1) + 0.08 * Math.cos(2 * t);
    const widthMm = 0.09;
    const stepMm = widthMm / bevel;
    const random = seededRandom(11);
    const noisy = (p: Float64Array): Float64Array => p.map((v) => v * (1 + 0.02 * random.normal()));
    const rays = Array.from({ length: 7 * 48 }, (_, i): HoleRay => {
      const t = (2 * Math.PI * (i % 48)) / 48;
      const hole = Math.floor(i / 48);
      const face = 0.7 + 0.13 * hole;
      const inside = hole % 2 === 0 ? 1.5 - 0.9 * Math.max(0, Math.cos(t)) : 0.25;
      return {
        angleRad: t,
        profiles: {
          light: noisy(layers([inside, level(t), face], [20, 20 + bevel], sigma)),
          colour: noisy(layers([0.02, level(t), face], [20, 20 + bevel], 2.2)),
        },
        start: 20.5 + random.normal(),
        faceLevel: [face, face],
        byColour: inside > 0.6 * face,
        stepMm,
        lightSigma: sigma,
        colourSigma: 2.2,
        wall: 0,
      };
    });
    const found = fitBevel(rays);
    // A quarter of a pixel is 0.5 of a sample of 0.0375 mm.
    expect(Math.abs(found.widthMm - widthMm)).toBeLessThan(0.02);
    for (const t of [0, 1, 2, 3, 4, 5, 6])
      expect(Math.abs(found.levelAt!(t).value - level(t))).toBeLessThan(0.1);
    const edges = edgesOf(rays, found).map((e) => e.radiusMm / stepMm);
    expect(Math.abs(edges.reduce((sum, r) => sum + r / edges.length, 0) - 20)).toBeLessThan(0.25);
  });
});
