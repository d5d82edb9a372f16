import { describe, expect, test, vi } from "vitest";
import { homographyFromPoints, matFromPixel, type ViewGeometry } from "../../src/geometry/index.js";
import { guessPose, mirroredPose } from "../../src/view/guess-pose.js";
import { geometryOf, unknown, unknownCount } from "../../src/view/mat-camera.js";
import {
  approachMatCamera,
  solveAgainHeld,
  solveMatCamera,
  type MatCamera,
} from "../../src/view/solve-mat-camera.js";
import { viewInputs, type MovedGeometry } from "../../src/view/view-inputs.js";
import { project } from "../scenes/scene-camera.js";
import { mulberry } from "./photograph-mat.js";
import { simulateCorners, type SimulateCornersOptions, type SimulatedCorners } from "./simulate-corners.js";

// Hundreds of solutions: minutes on a busy machine.
vi.setConfig({ testTimeout: 300_000 });

const ringHalfMm = [88, 131.5] as const;
const fieldHalfMm = [70, 113.5] as const;

function solve({ observations, prior }: Pick<SimulatedCorners, "observations" | "prior">): MatCamera {
  const h = homographyFromPoints(
    observations.flatMap(({ nominalMm }) => [...nominalMm]),
    observations.flatMap(({ cornersPx }) => [...cornersPx]),
  )!;
  const guess = guessPose(h, Math.exp(prior.lnF[0]), prior.cx[0], prior.cy[0])!;
  const solved = solveMatCamera(
    observations,
    prior,
    approachMatCamera(observations, prior, guess, ringHalfMm),
  );
  if (!solved.ok) throw new Error(solved.problem.text);
  return solved.value;
}

const inputsOf = (camera: MatCamera, simulated: SimulatedCorners): MovedGeometry[] =>
  viewInputs(camera, {
    owner: "test",
    fieldHalfMm,
    solveHeld: (held) => solveAgainHeld(simulated.observations, camera, held),
  })!;

/** Length between two points that the truth puts at height `z`, as `geometry` reads it off the picture. */
function lengthMm(
  geometry: ViewGeometry,
  { camera, pose }: SimulatedCorners,
  a: readonly [number, number],
  b: readonly [number, number],
  worldZ: number,
  z: number,
): number {
  const [u, v] = project(camera, pose, [...a, worldZ]);
  const [u2, v2] = project(camera, pose, [...b, worldZ]);
  const [x, y] = matFromPixel(geometry, u, v, z);
  const [x2, y2] = matFromPixel(geometry, u2, v2, z);
  return Math.hypot(x2 - x, y2 - y);
}

test("gives the exact camera back from exact corners", () => {
  const random = mulberry(11);
  for (let trial = 0; trial < 10; trial++) {
    const simulated = simulateCorners({ random, cornerPx: 0, markerPx: 0, spread: 0 });
    // Noise-free corners still meet priors; with truth at their centres only that of the bloom pulls, by a hair.
    const camera = solve(simulated);
    expect(camera.rmsPx).toBeLessThan(2e-3);
    for (const z of [0, 8]) {
      expect(lengthMm(camera.geometry, simulated, [-40, -60], [50, 70], z, z)).toBeCloseTo(
        Math.hypot(90, 130),
        1,
      );
    }
  }
});

describe("stated uncertainty against truth drawn from the priors", () => {
  const cases: [string, number, Omit<SimulateCornersOptions, "random">][] = [
    ["a measured mat and a known focal length", 120, {}],
    ["an unmeasured mat and no camera data", 60, { uLnF: 0.25, uPrintScale: 0.006 }],
    ["a few markers in view", 60, { seen: 0.25 }],
    ["noisy corners", 60, { cornerPx: 0.25, markerPx: 0.2 }],
  ];
  // The bar: 95 % intervals hold the truth in 90 % to 99 % of cases. Within one photograph lengths share their inputs,
  // so that 300 photographs are worth some 300 to 1000 cases: a binomial scatter of about 1 %.
  test("holds lengths on the mat and 5 mm above it in 90 to 99 %", () => {
    const random = mulberry(7);
    let inside = 0;
    let total = 0;
    let squares = 0;
    for (const [, count, options] of cases) {
      for (let i = 0; i < count; i++) {
        const simulated = simulateCorners({ random, ...options });
        expect(simulated.observations.length).toBeGreaterThan(3);
        const camera = solve(simulated);
        const inputs = inputsOf(camera, simulated);
        // The part presses an arched sheet down some of the way.
        const sheetMm = simulated.tableMm * random();
        for (const z of [0, 5]) {
          for (let k = 0; k < 3; k++) {
            const at = (): [number, number] => [140 * (random() - 0.5), 200 * (random() - 0.5)];
            const a = at();
            const b = at();
            const trueMm = Math.hypot(a[0] - b[0], a[1] - b[1]);
            if (trueMm < 15) continue;
            const value = lengthMm(camera.geometry, simulated, a, b, z + sheetMm, z);
            const u = Math.hypot(
              ...inputs.map(({ geometry }) => lengthMm(geometry, simulated, a, b, z + sheetMm, z) - value),
            );
            total++;
            squares += ((value - trueMm) / u) ** 2;
            if (Math.abs(value - trueMm) <= 1.96 * u) inside++;
          }
        }
      }
    }
    expect(total).toBeGreaterThan(1500);
    expect(inside / total).toBeGreaterThan(0.9);
    expect(inside / total).toBeLessThan(0.99);
    expect(Math.sqrt(squares / total)).toBeGreaterThan(0.8);
    expect(Math.sqrt(squares / total)).toBeLessThan(1.2);
  });
});

test("inputs carry the whole covariance: their sum of squares is the variance of a length", () => {
  const simulated = simulateCorners({ random: mulberry(21), uBowMm: 0.05 });
  const camera = solve(simulated);
  const inputs = inputsOf(camera, simulated);
  const a = [-45, 30] as const;
  const b = [35, -50] as const;
  for (const z of [0, 6]) {
    const value = lengthMm(camera.geometry, simulated, a, b, z, z);
    const fromInputs = Math.hypot(
      ...inputs.map(({ geometry }) => lengthMm(geometry, simulated, a, b, z, z) - value),
    );
    // Directly: gradient by differences, through the full covariance.
    const gradient = Float64Array.from({ length: unknownCount }, (_, j) => {
      const step = 1e-3 * Math.sqrt(camera.covariance[j * (unknownCount + 1)]!);
      const moved = (sign: number): ViewGeometry =>
        geometryOf(
          camera.frame,
          camera.params.map((p, i) => (i === j ? p + sign * step : p)),
          camera.supportMm,
        );
      const length = (sign: number): number => lengthMm(moved(sign), simulated, a, b, z, z);
      return (length(1) - length(-1)) / (2 * step);
    });
    let variance = 0;
    for (let i = 0; i < unknownCount; i++) {
      for (let j = 0; j < unknownCount; j++) {
        variance += gradient[i]! * gradient[j]! * camera.covariance[i * unknownCount + j]!;
      }
    }
    // Moves that hardly matter are left out (under 1 % of the variance), and a whole u is not quite a straight line.
    expect(fromInputs / Math.sqrt(variance)).toBeGreaterThan(0.97);
    expect(fromInputs / Math.sqrt(variance)).toBeLessThan(1.03);
  }
});

test("names the print scale alike in all photographs, and the pose unlike", () => {
  const simulated = simulateCorners({ random: mulberry(22) });
  const ids = inputsOf(solve(simulated), simulated).map(({ id }) => id);
  expect(ids.slice(0, 2)).toEqual(["scale:mat-across", "scale:mat-along"]);
  expect(ids.length).toBeGreaterThan(3);
  for (const id of ids.slice(2)) expect(id).toMatch(/^pose:.+-test$/);
  expect(new Set(ids).size).toBe(ids.length);
});

test("leaves out a marker that lies elsewhere, and is not moved by it", () => {
  const simulated = simulateCorners({ random: mulberry(23), spread: 0 });
  const before = solve(simulated);
  const observations = simulated.observations.map((marker, i) =>
    i === 5 ? { ...marker, cornersPx: marker.cornersPx.map((v, c) => (c % 2 === 0 ? v + 6 : v)) } : marker,
  );
  const camera = solve({ ...simulated, observations });
  expect(camera.used).not.toContain(observations[5]!.id);
  expect(camera.used.length).toBe(observations.length - 1);
  expect(Math.abs(camera.params[unknown.lnScale]! - before.params[unknown.lnScale]!)).toBeLessThan(2e-5);
});

test("widens its uncertainty when corners scatter more than their own", () => {
  const u = (cornerPx: number): number => {
    const camera = solve(
      simulateCorners({ random: mulberry(24), cornerPx, markerPx: cornerPx / 2, spread: 0 }),
    );
    return Math.sqrt(camera.covariance[unknown.originU * (unknownCount + 1)]!);
  };
  // Ten times the scatter, ten times the u, less what the floor of 0.03 px takes at the small end.
  expect(u(1) / u(0.1)).toBeGreaterThan(5);
  expect(u(1) / u(0.1)).toBeLessThan(12);
});

test("finds a lens that bends much, and one that is off its centre", () => {
  for (const [k1, p1] of [
    [-0.3, 0],
    [0.1, 0.002],
  ] as const) {
    const plain = simulateCorners({ random: mulberry(25), spread: 0, cornerPx: 0.03, markerPx: 0 });
    const camera = { ...plain.camera, k1, p1, p2: -p1 };
    const observations = plain.observations.map((marker) => ({
      ...marker,
      cornersPx: Float64Array.from(
        [0, 1, 2, 3].flatMap((c) =>
          project(camera, plain.pose, [marker.nominalMm[2 * c]!, marker.nominalMm[2 * c + 1]!, 0]),
        ),
      ),
    }));
    const solved = solve({ ...plain, observations });
    expect(solved.rmsPx).toBeLessThan(0.05);
    expect(Math.abs(solved.geometry.camera.k1 - k1)).toBeLessThan(0.03);
    if (p1 === 0) expect(solved.geometry.camera.p1).toBe(0);
    else expect(Math.abs(solved.geometry.camera.p1! - p1)).toBeLessThan(0.001);
    expect(lengthMm(solved.geometry, { ...plain, camera }, [-40, -60], [50, 70], 0, 0)).toBeCloseTo(
      158.11,
      1,
    );
  }
});

test("takes the table, not the top of an arched sheet, as the plane that parts lie on", () => {
  const random = mulberry(26);
  const flat = simulateCorners({ random, spread: 0, cornerPx: 0.03, markerPx: 0 });
  const bowed = (bowMm: number): MatCamera => {
    const observations = flat.observations.map((marker) => ({
      ...marker,
      cornersPx: Float64Array.from(
        [0, 1, 2, 3].flatMap((c) => {
          const x = marker.nominalMm[2 * c]!;
          const y = marker.nominalMm[2 * c + 1]!;
          return project(flat.camera, flat.pose, [x, y, bowMm * (y / ringHalfMm[1]) ** 2]);
        }),
      ),
    }));
    return solve({ ...flat, observations });
  };
  // An arch of 2 mm: its ends are 2 mm below its middle.
  expect(bowed(-2).supportMm).toBeGreaterThan(-2.3);
  expect(bowed(-2).supportMm).toBeLessThan(-1.7);
  // Edges that curl up by 2 mm: the middle lies on the table. Truth holds at heights counted from there.
  const curled = bowed(2);
  expect(curled.supportMm).toBeCloseTo(0, 1);
  expect(lengthMm(curled.geometry, flat, [-40, -30], [40, 30], 0, 0)).toBeCloseTo(100, 1);
  expect(lengthMm(bowed(-2).geometry, flat, [-40, -30], [40, 30], -2, 0)).toBeCloseTo(100, 1);
  expect(flat.tableMm).toBeCloseTo(0, 12);
});

test("both poses of a plane are offered: the mirrored one is a rotation, tilted the other way", () => {
  const { pose } = simulateCorners({ random: mulberry(27), spread: 0 });
  const guess = { rotation: pose.rotation, translationMm: pose.translationMm as [number, number, number] };
  const other = mirroredPose(guess);
  const twice = mirroredPose(other);
  const r = other.rotation;
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      const dot = r[3 * i]! * r[3 * j]! + r[3 * i + 1]! * r[3 * j + 1]! + r[3 * i + 2]! * r[3 * j + 2]!;
      expect(dot).toBeCloseTo(i === j ? 1 : 0, 12);
    }
  }
  // The normal is reflected about the line of sight: same angle to it, and twice is back again.
  const sight = guess.translationMm.map((v) => v / Math.hypot(...guess.translationMm));
  const towards = (rotation: readonly number[]): number =>
    sight[0]! * rotation[2]! + sight[1]! * rotation[5]! + sight[2]! * rotation[8]!;
  expect(towards(r)).toBeCloseTo(towards(guess.rotation), 12);
  twice.rotation.forEach((v, i) => expect(v).toBeCloseTo(guess.rotation[i]!, 12));
});
