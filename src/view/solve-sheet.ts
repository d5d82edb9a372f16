import type { Sheet } from "../mat/index.js";
import type { Photo } from "../photo/index.js";
import type { Outcome } from "../problem/index.js";
import { cameraPrior } from "./camera-prior.js";
import { nominalCornersMm, type SeenSheet } from "./choose-sheet.js";
import type { CameraPrior, MarkerObservation } from "./corner-system.js";
import { blurOf } from "./edge-model.js";
import { guessPose, mirroredPose } from "./guess-pose.js";
import type { LinearLight } from "./linear-light.js";
import { Projector, unknown } from "./mat-camera.js";
import type { PrintScalePrior } from "./print-scale-prior.js";
import { wrongCellsAt } from "./read-marker.js";
import type { Quad } from "./find-quads.js";
import { refineMarker, signedArea, type BentPath, type RefinedMarker } from "./refine-marker.js";
import { approachMatCamera, solveMatCamera, type MatCamera, type RoughCamera } from "./solve-mat-camera.js";

export interface SolvedSheet {
  readonly camera: MatCamera;
  readonly markers: readonly RefinedMarker[];
  readonly prior: CameraPrior;
}

const ringHalfMm = (sheet: Sheet): [number, number] => {
  const xs = sheet.markers.map(({ centreMm }) => Math.abs(centreMm[0]));
  const ys = sheet.markers.map(({ centreMm }) => Math.abs(centreMm[1]));
  return [Math.max(...xs), Math.max(...ys)];
};

/** Rough camera from rough corners, then corners to a fraction of a pixel beside the edges it predicts, then again. */
export function solveSheet(
  photo: Photo,
  light: LinearLight,
  seen: SeenSheet,
  print: PrintScalePrior,
  roughnessPx: number,
): Outcome<SolvedSheet> {
  const { sheet } = seen;
  const rough = seen.markers.map(({ id, corners }): MarkerObservation => ({
    id,
    nominalMm: nominalCornersMm(sheet, id),
    cornersPx: corners,
    uPx: Math.hypot(0.3, 0.4 * roughnessPx),
  }));
  const attempt = (trustCameraData: boolean): Outcome<SolvedSheet> => {
    const prior = cameraPrior(photo, print, trustCameraData);
    const first = roughCamera(rough, seen, prior);
    if (!first) return unclear;
    const read = new Set(seen.markers.map(({ id }) => id));
    const near = refineAll(light, sheet, first, read, read, { reachPx: 3 * roughnessPx, pointCount: 12 });
    if (near.length === 0) return unclear;
    const second = approachMatCamera(observationsOf(sheet, near), prior, first, ringHalfMm(sheet));
    // Now the rest of the sheet can be looked at, too: markers that were not found on their own.
    const all = new Set(sheet.markers.map(({ id }) => id));
    const fine = { reachPx: 1, pointCount: 26, blurSigmaPx: blurOf(light, near, 6) };
    const markers = refineAll(light, sheet, second, all, read, fine);
    if (markers.length === 0) return unclear;
    const third = solveMatCamera(observationsOf(sheet, markers), prior, second);
    if (!third.ok) return third;
    const camera = third.value;
    return {
      ok: true,
      value: { camera, prior, markers: markers.filter(({ id }) => camera.used.includes(id)) },
    };
  };
  const trusting = attempt(true);
  if (trusting.ok && !priorContradicted(trusting.value)) return trusting;
  // A cropped or edited picture: its middle is not the lens's, and EXIF speaks of another picture.
  const relaxed = attempt(false);
  if (!trusting.ok) return relaxed;
  return relaxed.ok && relaxed.value.camera.rmsPx < 0.7 * trusting.value.camera.rmsPx ? relaxed : trusting;
}

function priorContradicted({ camera, prior }: SolvedSheet): boolean {
  const off = (index: number, [estimate, u]: readonly [number, number]): boolean =>
    Math.abs(camera.params[index]! - estimate) > 2.5 * u;
  return (
    off(unknown.lnF, prior.lnF) ||
    off(unknown.cx, prior.cx) ||
    off(unknown.cy, prior.cy) ||
    camera.rmsPx > 0.4
  );
}

/** Both poses that a plane allows are tried; the better one stays. */
function roughCamera(
  rough: readonly MarkerObservation[],
  seen: SeenSheet,
  prior: CameraPrior,
): RoughCamera | undefined {
  const guess = guessPose(seen.pixelFromMat, Math.exp(prior.lnF[0]), prior.cx[0], prior.cy[0]);
  if (!guess) return undefined;
  // A dozen markers all round are enough for a start.
  const every = Math.ceil(rough.length / 12);
  const some = rough.filter((_, i) => i % every === 0);
  const [best] = [guess, mirroredPose(guess)]
    .map((start) => approachMatCamera(some, prior, start, ringHalfMm(seen.sheet)))
    .filter(({ chiSquared }) => Number.isFinite(chiSquared))
    .sort((a, b) => a.chiSquared - b.chiSquared);
  return best;
}

const unclear: Outcome<never> = {
  ok: false,
  problem: {
    code: "view-unsolved",
    text: "markers of the mat were read, but their edges are too unclear to place the camera",
    advice: "hold the camera still, focus on the mat and take the picture in more light",
  },
};

export const observationsOf = (sheet: Sheet, markers: readonly RefinedMarker[]): MarkerObservation[] =>
  markers.map(({ id, corners, uCornerPx }) => ({
    id,
    nominalMm: nominalCornersMm(sheet, id),
    cornersPx: corners,
    uPx: uCornerPx,
  }));

/**
 * Corners of the markers `ids` beside the edges that `camera` predicts (lens and bow included). Markers that cannot
 * be read there (those `alreadyRead` were) are left out: covered, out of the picture, under glare.
 */
function refineAll(
  light: LinearLight,
  sheet: Sheet,
  camera: RoughCamera,
  ids: ReadonlySet<number>,
  alreadyRead: ReadonlySet<number>,
  options: { readonly reachPx: number; readonly pointCount: number; readonly blurSigmaPx?: number },
): RefinedMarker[] {
  const projector = new Projector(camera.frame, camera.params);
  const p = new Float64Array(2);
  const out: RefinedMarker[] = [];
  for (const id of ids) {
    const nominal = nominalCornersMm(sheet, id);
    const corners = new Float64Array(8);
    let visible = true;
    for (let c = 0; c < 4; c++) {
      visible &&= projector.project(nominal[2 * c]!, nominal[2 * c + 1]!, p);
      visible &&= p[0]! > 0 && p[1]! > 0 && p[0]! < light.widthPx - 1 && p[1]! < light.heightPx - 1;
      corners.set(p, 2 * c);
    }
    if (!visible) continue;
    if (!alreadyRead.has(id)) {
      const wrong = wrongCellsAt(light, corners, id);
      if (wrong === undefined || wrong > 5) continue;
    }
    const cellPx = Math.sqrt(Math.abs(signedArea(corners))) / 8;
    const path = new ProjectedMarker(corners, nominal, projector);
    const reachPx = Math.min(0.45 * cellPx, Math.max(1.4, options.reachPx, 3 * camera.rmsPx));
    const refined = refineMarker(light, id, path, { ...options, reachPx });
    if (refined) out.push(refined);
  }
  return out;
}

/** A marker as `projector` sees it. */
class ProjectedMarker implements BentPath {
  constructor(
    readonly corners: Quad,
    private readonly nominalMm: Float64Array,
    private readonly projector: Projector,
  ) {}

  pointOfSide(side: number, t: number, out: Float64Array): void {
    const e = (side + 1) % 4;
    const nominal = this.nominalMm;
    this.projector.project(
      nominal[2 * side]! + t * (nominal[2 * e]! - nominal[2 * side]!),
      nominal[2 * side + 1]! + t * (nominal[2 * e + 1]! - nominal[2 * side + 1]!),
      out,
    );
  }
}
