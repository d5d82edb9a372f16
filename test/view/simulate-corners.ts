import { describeSheet, markerCornersMm, type Paper } from "../../src/mat/index.js";
import type { CameraPrior, MarkerObservation } from "../../src/view/corner-system.js";
import { poseLookingAt, project } from "../scenes/scene-camera.js";
import type { SceneCamera, ScenePose } from "../scenes/scene.js";
import { gauss } from "./photograph-mat.js";

export interface SimulatedCorners {
  readonly camera: SceneCamera;
  readonly pose: ScenePose;
  readonly printScale: readonly [number, number];
  /** Lowest point of the sheet within the ring against its middle, mm: the table. */
  readonly tableMm: number;
  readonly observations: readonly MarkerObservation[];
  readonly prior: CameraPrior;
}

export interface SimulateCornersOptions {
  readonly random: () => number;
  readonly paper?: Paper;
  readonly widthPx?: number;
  readonly heightPx?: number;
  /** Standard deviations of the truth about the prior, in units of the prior's own u; default 1. */
  readonly spread?: number;
  readonly uLnF?: number;
  readonly uPrintScale?: number;
  /** Noise of a corner and shared by a marker, px. */
  readonly cornerPx?: number;
  readonly markerPx?: number;
  /** Of the lens's tangential terms; default 0.0007. */
  readonly uTangential?: number;
  /** Of each term of the sheet's bow, mm at the ring; default 0.3. */
  readonly uBowMm?: number;
  /** Share of the markers that are seen. */
  readonly seen?: number;
  /** Another photograph of the same camera and the same sheet; default: a camera of its own. */
  readonly like?: Pick<SimulatedCorners, "camera" | "printScale">;
  /** Greatest tilt of the camera, rad; default 0.5. */
  readonly mostTiltRad?: number;
}

/** Marker corners as a random camera sees them, with noise; the truth is drawn from the prior. */
export function simulateCorners(options: SimulateCornersOptions): SimulatedCorners {
  const { random, paper = "a4", widthPx = 4000, heightPx = 3000, spread = 1 } = options;
  const draw = (u: number): number => spread * u * gauss(random);
  const uLnF = options.uLnF ?? 0.05;
  const uScale = options.uPrintScale ?? 0.001;
  const uCentre = 0.015 * widthPx;
  const lnF = Math.log(0.8 * widthPx);
  const f = Math.exp(lnF + draw(uLnF));
  const camera: SceneCamera = options.like?.camera ?? {
    fxPx: f,
    fyPx: f * (1 + draw(0.0005)),
    cxPx: (widthPx - 1) / 2 + draw(uCentre),
    cyPx: (heightPx - 1) / 2 + draw(uCentre),
    k1: draw(0.05),
    k2: draw(0.05),
    p1: draw(options.uTangential ?? 0.0007),
    p2: draw(options.uTangential ?? 0.0007),
  };
  const printScale: readonly [number, number] = options.like?.printScale ?? [
    1 + draw(uScale),
    1 + draw(uScale),
  ];
  const pose = poseLookingAt({
    targetMm: [20 * (random() - 0.5), 20 * (random() - 0.5)],
    distanceMm: 330 + 200 * random(),
    tiltRad: (options.mostTiltRad ?? 0.5) * random(),
    azimuthRad: 2 * Math.PI * random(),
    rollRad: 2 * Math.PI * random(),
  });
  const uBow = options.uBowMm ?? 0.3;
  const bow = [draw(uBow), draw(uBow), draw(uBow)] as const;
  const bloom = 0.3 * gauss(random);
  const sheet = describeSheet(paper);
  const half = [0, 1].map((i) => Math.max(...sheet.markers.map(({ centreMm }) => Math.abs(centreMm[i]!))));
  const cornerPx = options.cornerPx ?? 0.05;
  const observations: MarkerObservation[] = [];
  for (const marker of sheet.markers) {
    if (random() > (options.seen ?? 1)) continue;
    const nominalMm = Float64Array.from(markerCornersMm(marker).flat());
    const cornersPx = new Float64Array(8);
    const shift = [draw(options.markerPx ?? 0.03), draw(options.markerPx ?? 0.03)] as const;
    const seen = (x: number, y: number): [number, number] => {
      const z =
        bow[0] * (x / half[0]!) ** 2 +
        bow[1] * (x / half[0]!) * (y / half[1]!) +
        bow[2] * (y / half[1]!) ** 2;
      return project(camera, pose, [x * printScale[0], y * printScale[1], z]);
    };
    let inside = true;
    const plain = [0, 1, 2, 3].map((c) => seen(nominalMm[2 * c]!, nominalMm[2 * c + 1]!));
    shrunk(plain, bloom).forEach(([u, v], c) => {
      cornersPx[2 * c] = u + shift[0] + cornerPx * gauss(random);
      cornersPx[2 * c + 1] = v + shift[1] + cornerPx * gauss(random);
      inside &&= u > 0 && v > 0 && u < widthPx - 1 && v < heightPx - 1;
    });
    if (inside) observations.push({ id: marker.id, nominalMm, cornersPx, uPx: 0.03 });
  }
  const prior: CameraPrior = {
    lnF: [lnF, uLnF],
    lnAspect: [0, 0.0005],
    cx: [(widthPx - 1) / 2, uCentre],
    cy: [(heightPx - 1) / 2, uCentre],
    k1: [0, 0.15],
    k2: [0, 0.3],
    tangential: [0, 0.0007],
    sx: [1, uScale],
    sy: [1, uScale],
    bloom: [0, 1.5],
    bow: [0, 0.3],
  };
  let tableMm = 0;
  for (const X of [-1, -0.5, 0, 0.5, 1]) {
    for (const Y of [0, 0.5, 1])
      tableMm = Math.min(tableMm, bow[0] * X * X + bow[1] * X * Y + bow[2] * Y * Y);
  }
  return { camera, pose, printScale, tableMm, observations, prior };
}

/** A convex quadrilateral with every side moved inwards by `by`. */
function shrunk(corners: readonly (readonly [number, number])[], by: number): [number, number][] {
  const middle = [0, 1].map((k) => corners.reduce((sum, corner) => sum + corner[k]! / 4, 0)) as [
    number,
    number,
  ];
  // Each side as n p = c with the unit normal n pointing inwards, so that moving it adds to c.
  const sides = corners.map(([x, y], i) => {
    const [x2, y2] = corners[(i + 1) % 4]!;
    const length = Math.hypot(x2 - x, y2 - y);
    let n: [number, number] = [(y - y2) / length, (x2 - x) / length];
    if (n[0] * (middle[0] - x) + n[1] * (middle[1] - y) < 0) n = [-n[0], -n[1]];
    return { n, c: n[0] * x + n[1] * y + by };
  });
  return sides.map((side, i) => {
    const before = sides[(i + 3) % 4]!;
    const det = before.n[0] * side.n[1] - before.n[1] * side.n[0];
    return [
      (before.c * side.n[1] - side.c * before.n[1]) / det,
      (side.c * before.n[0] - before.c * side.n[0]) / det,
    ];
  });
}
