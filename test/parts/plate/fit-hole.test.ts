import { describe, expect, test } from "vitest";
import { loadOpenCv } from "../find/open-cv.js";
import { fitHole, type HoleEdge } from "../../../src/parts/plate/fit-hole.js";
import { fitHoleEdge } from "../../../src/parts/plate/fit-hole-edge.js";
import { chromaGain, type EdgeProfiles } from "../../../src/parts/plate/layered-edge.js";
import { learnEdgeLook, type EdgeLook, type ShapedHole } from "../../../src/parts/plate/learn-edge-look.js";
import { random as sceneRandom } from "../../scenes/index.js";
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
    return { angleRad: t, radiusMm: s + noise() };
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

  test("a torn rim that is seen on one side only is no hole; its circle's size threw RangeError", () => {
    // Found among random ones: their circles have radii of -5520, -100 and 8.6e10 mm.
    const torn = (seed: number, rays: number): HoleEdge[] => {
      const rng = sceneRandom(seed, "fh");
      return Array.from({ length: rays }, (_, i) => {
        const [out] = [rng.normal(1), rng.normal(1), rng.normal(1)];
        return { angleRad: (2 * Math.PI * i) / 96, radiusMm: Math.min(4, 0.3 + Math.abs(out)) };
      });
    };
    expect(fitHole(torn(3140, 28), noWall, 0.004)).toBeUndefined();
    expect(fitHole(torn(3172, 28), noWall, 0.004)).toBeUndefined();
    expect(fitHole(torn(5512, 40), noWall, 0.004)).toBeUndefined();
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
  // Samples of half a pixel, 0.0375 mm; the bevel is 0.09 mm wide.
  const stepMm = 0.0375;
  const sigma = 1.3;
  const bevel = 2.4;
  const radius = 20;
  const layersAt = (levels: readonly number[], ends: readonly number[], k: number): number =>
    ends.reduce((sum, end, i) => sum + (levels[i + 1]! - levels[i]!) * normal((k - end) / sigma), levels[0]!);

  /** Brass and grey as code values; their difference is stored at half resolution: a mean of two pixels, lines between. */
  const brass = [0.42, 0.3, 0.14];
  const code = (v: number): number => Math.max(0, v) ** (1 / 2.4);
  const chromaOf = (metal: number, light: number): number => {
    const [r, g, b] = brass.map((c) => code((metal * c) / 0.31 + light - metal)) as [number, number, number];
    return 0.5 * (r + g) - b;
  };
  const stored = [...Array(11).keys()].map((i) => {
    // Box of four samples over a triangle of eight.
    const at = i - 5;
    let sum = 0;
    for (let j = -1.5; j <= 1.5; j++) sum += Math.max(0, 4 - Math.abs(at - j)) / 64;
    return sum;
  });

  interface RayLook {
    readonly inside: number;
    readonly bevelLevel: number;
    readonly face?: number;
    /** Width and brightness. */
    readonly wall?: readonly [number, number];
  }

  /** A round hole of radius 20 samples; what is inside is grey and has no colour of its own. */
  const hole = (look: (t: number) => RayLook, random = seededRandom(11), texture = 0.02): ShapedHole => {
    const rays = Array.from({ length: 96 }, (_, i) => {
      const t = (2 * Math.PI * i) / 96;
      const { inside, bevelLevel, face = 1, wall: [wall, wallLevel] = [0, 0] } = look(t);
      const levels = [inside, ...(wall > 0 ? [wallLevel] : []), bevelLevel, face];
      const ends = [...(wall > 0 ? [radius - wall] : []), radius, radius + bevel];
      const ks = [...Array(72).keys()].map((k) => k - 12);
      const plain = ks.map((k) => layersAt(levels, ends, k));
      const sharp = ks.map((k, i) => chromaOf(layersAt([0.02, ...levels.slice(1)], ends, k), plain[i]!));
      const light = Float64Array.from(
        { length: 48 },
        (_, k) => plain[k + 12]! * (1 + texture * random.normal()),
      );
      const chroma = light.map(
        (_, k) =>
          (stored.reduce((sum, w, j) => sum + w * sharp[k + 12 + j - 5]!, 0) / chromaOf(1, 1)) *
          (1 + texture * random.normal()),
      );
      const profiles: EdgeProfiles = { light, chroma, gain: light.map(chromaGain), hasColour: true };
      const faceLevel = [face, face ** 0.42] as const;
      const byColour = inside > 0.6 * face;
      return {
        angleRad: t,
        profiles,
        start: radius + 1,
        faceLevel,
        byColour,
        stepMm,
        sigma,
        chromaSigma: 2,
        wall,
      };
    });
    return { rays, shape: [0, 0, (radius + 1.2 + 0.5 * random.normal()) * stepMm, 0, 0] };
  };

  /** Of the fitted diameter, mm. Half of what the bar allows at 10 px/mm, since nothing but the edge is in doubt here. */
  const wide = (h: ShapedHole, look: EdgeLook): number =>
    2 * (fitHoleEdge(h, look)!.shape[2] - radius * stepMm);
  const most = 0.02;

  test("the holes of a plate tell how wide their bevel is, and how bright on every side", () => {
    // Seven holes of a plate whose face is brighter on one side; through some of them the lit paper is seen.
    const level = (t: number): number => 0.6 + 0.2 * Math.cos(t - 1) + 0.08 * Math.cos(2 * t);
    const random = seededRandom(11);
    const holes = Array.from({ length: 7 }, (_, k) =>
      hole(
        (t) => ({
          inside: k % 2 === 0 ? 1.5 - 0.6 * Math.max(0, Math.cos(t)) : 0.15,
          bevelLevel: level(t),
        }),
        random,
        0.04,
      ),
    );
    const { look } = learnEdgeLook(holes)[0]!;
    expect(Math.abs(look.bevelMm - bevel * stepMm)).toBeLessThan(0.021);
    for (const t of [0, 1, 2, 3, 4, 5, 6])
      expect(Math.abs(look.bevelLevelAt(t).value - level(t))).toBeLessThan(0.12);
    for (const h of holes) expect(Math.abs(wide(h, look))).toBeLessThan(most);
  });

  test("holes with dark bevels were 0.1 mm too wide: half height lies in the middle of the bevel", () => {
    const random = seededRandom(3);
    const holes = Array.from({ length: 6 }, () =>
      hole(() => ({ inside: 0.1, bevelLevel: 0.5 }), random, 0.05),
    );
    const { look } = learnEdgeLook(holes)[0]!;
    for (const h of holes) {
      const p = h.rays[0]!.profiles.light;
      const k = p.findIndex((v) => v >= 0.55);
      expect(2 * (k - 0.5 - radius) * stepMm).toBeGreaterThan(0.03);
      expect(Math.abs(wide(h, look))).toBeLessThan(most);
    }
  });

  test("a lit wall below the edge passes neither for face nor for bevel", () => {
    const random = seededRandom(4);
    const plain = Array.from({ length: 5 }, () => hole(() => ({ inside: 0.2, bevelLevel: 0.5 }), random));
    const { look } = learnEdgeLook(plain)[0]!;
    const walled = hole(
      (t) => ({ inside: 0.2, bevelLevel: 0.5, wall: [Math.max(0, 5 * Math.cos(t)), 0.9] }),
      random,
    );
    const { shape } = fitHoleEdge(walled, look)!;
    expect(Math.hypot(shape[0], shape[1])).toBeLessThan(0.02);
    expect(Math.abs(2 * (shape[2] - radius * stepMm))).toBeLessThan(0.04);
  });

  test("a glint on the bevel of one side makes no oval", () => {
    const random = seededRandom(5);
    const plain = Array.from({ length: 6 }, () => hole(() => ({ inside: 0.1, bevelLevel: 0.5 }), random));
    const glinting = hole((t) => ({ inside: 0.1, bevelLevel: Math.cos(t - 4) > 0.96 ? 2 : 0.5 }), random);
    const { shape } = fitHoleEdge(glinting, learnEdgeLook(plain)[0]!.look)!;
    expect(4 * Math.hypot(shape[3], shape[4])).toBeLessThan(0.04);
  });

  test("bright paper behind a dark face makes no edge surer: what is wrong of the blur grows with the step", () => {
    const random = seededRandom(6);
    const { look } = learnEdgeLook([])[0]!;
    const uOf = (inside: number): number =>
      fitHoleEdge(
        hole(() => ({ inside, bevelLevel: 0.5 }), random),
        look,
      )!.uShapeMm[2]!;
    // Read equally well, a step 2.5 times as high would be told 2.5 times as well.
    expect(uOf(6)).toBeGreaterThan(0.7 * uOf(3));
  });

  test("without holes enough to learn from, bevels are taken for usual ones", () => {
    const looks = learnEdgeLook([]);
    expect(looks[0]!.look.bevelMm).toBe(0.1);
    expect(looks[0]!.look.bevelLevelAt(1).u).toBeGreaterThan(0.2);
    // Usual bevels are 0.1 mm, u 0.05: the spread of the choices.
    const mean = (of: (mm: number) => number): number =>
      looks.reduce((sum, { look, weight }) => sum + weight * of(look.bevelMm), 0);
    expect(mean((mm) => mm)).toBeCloseTo(0.1, 6);
    expect(Math.sqrt(mean((mm) => (mm - 0.1) ** 2))).toBeCloseTo(0.05, 6);
  });
});
