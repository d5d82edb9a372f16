import { medianOf } from "../fit/index.js";
import { matFromPixel, pixelFromMat, pxPerMmAt, type ViewGeometry } from "../geometry/index.js";
import { tagOfMarker, type Sheet } from "../mat/index.js";
import type { Photo } from "../photo/index.js";
import type { Outcome, Problem, ProblemCode } from "../problem/index.js";
import { quantity, type Quantity } from "../quantity/index.js";
import { cameraPrior, uPrintScaleUnmeasured, type PrintScalePrior } from "./camera-prior.js";
import { chooseSheets, nominalCornersMm, type SeenSheet } from "./choose-sheet.js";
import { centreOf, findMarkers, type FoundMarkers } from "./find-markers.js";
import { viewFromPxPerMm, viewFromTwoPoints, viewWithoutScale, type GivenScale } from "./given-view.js";
import { guessBlurSigmaPx } from "./guess-blur.js";
import { guessPose, mirroredPose } from "./guess-pose.js";
import { linearLight, type LinearLight } from "./linear-light.js";
import { projectorAt, unknown, unknownCount } from "./mat-camera.js";
import { measureBlurSigmaPx } from "./measure-blur.js";
import { wrongCellsAt, type ReadMarker } from "./read-marker.js";
import { measurePaperShade } from "./paper-shade.js";
import { refineMarker, signedArea, type MarkerPath, type RefinedMarker } from "./refine-marker.js";
import {
  approachMatCamera,
  bowRangeMm,
  solveAgainHeld,
  solveMatCamera,
  type CameraPrior,
  type MarkerObservation,
  type MatCamera,
  type RoughCamera,
} from "./solve-mat-camera.js";
import type { EdgeModel, SeenMat, SeenTag, View } from "./view.js";
import { viewInputs } from "./view-inputs.js";

export interface ViewOptions {
  /** What the check bar across the sheet measures on paper, mm; default: not measured. */
  readonly matAcrossMm?: number;
  /** What the check bar along the sheet measures on paper, mm; default: not measured. */
  readonly matAlongMm?: number;
  /** Standard uncertainty of either measurement, mm; default 0.1 (steel rule about 0.15, calipers about 0.05). */
  readonly matUMm?: number;
  /** Scale for photographs without a mat, from two points; used only when no mat can be solved. */
  readonly scale?: GivenScale;
  /** Scale for photographs without a mat; used only when no mat can be solved and `scale` is absent. */
  readonly pxPerMm?: number;
}

/** Edge growth by ink that spreads cannot be told from blooming; office printers, mm (common practice, no source). */
const uInkSpreadMm = 0.005;
/** A blurred phone picture, when there is no mat to learn from. */
const plainEdge: EdgeModel = { blurSigmaPx: 0.9, shiftPx: 0, uShiftPx: 0.3 };
/** Local scale on the mat no better known than this: the mat is of no use. */
const worstScaleU = 0.02;
/** From here on the report says that more of the mat should be seen. */
const poorScaleU = 0.004;

/**
 * Where the camera was, from one photograph.
 *
 * @returns a view from the mat when one is seen well enough, else from the scale in the options, else without
 *   scale; what went wrong on the way is in `problems` ("no-mat", "mat-too-little-seen", "mat-mirrored", "two-mats",
 *   "mat-other-paper", "view-unsolved", "scale-off-picture").
 */
export function solveView(photo: Photo, options: ViewOptions = {}): Promise<View> {
  // Nothing here waits, but callers should not rely on it.
  return Promise.resolve().then(() => solve(photo, options));
}

function solve(photo: Photo, options: ViewOptions): View {
  const light = linearLight(photo);
  const found = findMarkers(photo, light);
  const tags = readTags(light, found);
  const problems: Problem[] = [];
  const fromMat = viewFromMat(photo, light, found, options, problems);
  if (fromMat) return { ...fromMat, tags, problems };

  const { widthPx, heightPx } = photo;
  const owner = photo.sha256.slice(0, 8);
  const given = options.scale
    ? viewFromTwoPoints(options.scale, widthPx, heightPx, owner)
    : options.pxPerMm !== undefined
      ? viewFromPxPerMm(options.pxPerMm, widthPx, heightPx, owner)
      : undefined;
  const edge = { ...plainEdge, blurSigmaPx: guessBlurSigmaPx(photo, light) ?? plainEdge.blurSigmaPx };
  if (given?.ok) return { source: "given", ...given.value, edge, tags, problems };
  if (given) problems.push(given.problem);
  return { source: "none", ...viewWithoutScale(widthPx, heightPx, owner), edge, tags, problems };
}

/** The view as the mat gives it; undefined, with a problem added, when it gives none. */
function viewFromMat(
  photo: Photo,
  light: LinearLight,
  found: FoundMarkers,
  options: ViewOptions,
  problems: Problem[],
): Omit<View, "tags" | "problems"> | undefined {
  const [seen, ...others] = chooseSheets(found.ofMats);
  if (!seen || (found.mirroredCount > found.ofMats.length && found.mirroredCount > 1)) {
    problems.push(found.mirroredCount > 1 ? mirroredProblem : noMatProblem);
    return undefined;
  }
  if (others.length > 0) problems.push(twoMatsProblem(seen, others));
  const print = printScalePrior(seen.sheet, options, problems);
  const solved = solveSheet(photo, light, seen, print, found.roughnessPx);
  if (!solved.ok) {
    problems.push(seen.markers.length < 4 ? tooLittleProblem(seen.markers.length) : solved.problem);
    return undefined;
  }
  const { camera, markers } = solved.value;
  const owner = photo.sha256.slice(0, 8);
  const inputs = viewInputs(camera, {
    owner,
    fieldHalfMm: seen.sheet.fieldHalfMm,
    solveHeld: (held) => solveAgainHeld(observationsOf(seen.sheet, markers), camera, held),
  });
  const uScale = scaleUncertainty(photo, seen.sheet, camera.geometry, inputs);
  if (!(uScale < worstScaleU)) {
    problems.push(tooLittleProblem(markers.length));
    return undefined;
  }
  if (uScale > poorScaleU || (markers.length < 4 && uScale > poorScaleU / 2)) {
    problems.push(tooLittleProblem(markers.length));
  }
  const [lowest, highest] = bowRangeMm(camera.params);
  if (highest - lowest > 1) problems.push(notFlatProblem(highest - lowest));
  const paper = measurePaperShade(
    photo,
    seen.sheet,
    camera.geometry,
    [camera.params[unknown.sx]!, camera.params[unknown.sy]!],
    new Set(markers.map(({ id }) => id)),
  );
  return {
    source: "mat",
    geometry: camera.geometry,
    inputs,
    edge: edgeModel(light, camera, markers),
    ...(paper && { paper }),
    mat: seenMat(seen.sheet, camera, markers, options),
  };
}

interface SolvedSheet {
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
function solveSheet(
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
    const fine = { reachPx: 1, pointCount: 32, blurSigmaPx: blurOf(light, near, 6) };
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

const observationsOf = (sheet: Sheet, markers: readonly RefinedMarker[]): MarkerObservation[] =>
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
  const projector = projectorAt(camera.frame, camera.params);
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
    const path: MarkerPath = {
      corners,
      pointOfSide: (side, t, at) => {
        const e = (side + 1) % 4;
        projector.project(
          nominal[2 * side]! + t * (nominal[2 * e]! - nominal[2 * side]!),
          nominal[2 * side + 1]! + t * (nominal[2 * e + 1]! - nominal[2 * side + 1]!),
          at,
        );
      },
    };
    const reachPx = Math.min(0.45 * cellPx, Math.max(1.4, options.reachPx, 3 * camera.rmsPx));
    const refined = refineMarker(light, id, path, { ...options, reachPx });
    if (refined) out.push(refined);
  }
  return out;
}

/** Blur by the median of up to `most` markers, px. */
function blurOf(light: LinearLight, markers: readonly RefinedMarker[], most: number): number {
  const every = Math.max(1, Math.ceil(markers.length / most));
  const sigmas = markers
    .filter((_, i) => i % every === 0)
    .map((marker) => measureBlurSigmaPx(light, marker))
    .filter((sigma) => sigma !== undefined);
  return sigmas.length > 0 ? medianOf(sigmas) : plainEdge.blurSigmaPx;
}

function edgeModel(light: LinearLight, camera: MatCamera, markers: readonly RefinedMarker[]): EdgeModel {
  const u = Math.sqrt(camera.covariance[unknown.bloom * (unknownCount + 1)]!);
  return {
    blurSigmaPx: blurOf(light, markers, 14),
    shiftPx: camera.params[unknown.bloom]!,
    uShiftPx: Math.hypot(u, uInkSpreadMm * pxPerMmAt(camera.geometry, 0, 0, 0)),
  };
}

function seenMat(
  sheet: Sheet,
  camera: MatCamera,
  markers: readonly RefinedMarker[],
  options: ViewOptions,
): SeenMat {
  const [lowest, highest] = bowRangeMm(camera.params);
  const c = (i: number, j: number): number => camera.covariance[i * unknownCount + j]!;
  const uAcross = Math.sqrt(c(unknown.sx, unknown.sx));
  const shared = c(unknown.sx, unknown.sy) / uAcross;
  const own = Math.sqrt(Math.max(0, c(unknown.sy, unknown.sy) - shared * shared));
  const across: Quantity<"1"> = quantity(camera.params[unknown.sx]!, "1", [["scale:mat-across", uAcross]]);
  const along: Quantity<"1"> = quantity(camera.params[unknown.sy]!, "1", [
    ["scale:mat-across", shared],
    ["scale:mat-along", own],
  ]);
  return {
    paper: sheet.paper,
    revision: sheet.revision,
    markers: markers.map(({ id, corners }) => ({ id, cornersPx: cornerPairs(corners) })),
    reprojectionRmsPx: camera.rmsPx,
    printScaleAcross: across,
    printScaleAlong: along,
    bowMm: highest - lowest,
    printScaleMeasured: options.matAcrossMm !== undefined && options.matAlongMm !== undefined,
  };
}

const cornerPairs = (corners: Float64Array): [number, number][] =>
  [0, 1, 2, 3].map((c) => [corners[2 * c]!, corners[2 * c + 1]!]);

/** Tags lie anywhere and at any height: they are read and outlined, no more. */
function readTags(light: LinearLight, { ofTags, roughnessPx }: FoundMarkers): SeenTag[] {
  return ofTags.map((read: ReadMarker) => {
    const cellPx = Math.sqrt(Math.abs(signedArea(read.corners))) / 8;
    const reachPx = Math.min(0.45 * cellPx, Math.max(1.5, roughnessPx));
    const corners =
      refineMarker(light, read.id, { corners: read.corners }, { reachPx })?.corners ?? read.corners;
    return {
      label: tagOfMarker(read.id)!.label,
      centrePx: centreOf({ corners }),
      cornersPx: cornerPairs(corners),
    };
  });
}

/** Relative standard uncertainty of lengths on the seen part of the mat, print scale left out: the worst of a grid. */
function scaleUncertainty(
  { widthPx, heightPx }: Photo,
  sheet: Sheet,
  geometry: ViewGeometry,
  inputs: View["inputs"],
): number {
  const [halfX, halfY] = sheet.fieldHalfMm;
  const variances: number[] = [];
  for (const fx of [0.2, 0.5, 0.8]) {
    for (const fy of [0.2, 0.5, 0.8]) {
      const [x, y] = matFromPixel(geometry, fx * (widthPx - 1), fy * (heightPx - 1), 0);
      if (!(Math.abs(x) <= halfX && Math.abs(y) <= halfY)) continue;
      const [u0, v0] = pixelFromMat(geometry, x - 10, y - 10, 0);
      const [u1, v1] = pixelFromMat(geometry, x + 10, y + 10, 0);
      let variance = 0;
      for (const { id, geometry: moved } of inputs) {
        if (id.startsWith("scale:")) continue;
        const [x0, y0] = matFromPixel(moved, u0, v0, 0);
        const [x1, y1] = matFromPixel(moved, u1, v1, 0);
        variance += (Math.hypot(x1 - x0, y1 - y0) / Math.hypot(20, 20) - 1) ** 2;
      }
      variances.push(variance);
    }
  }
  // Nothing of the field in the picture: there is nothing to measure on.
  return variances.length ? Math.sqrt(Math.max(...variances)) : Infinity;
}

/** Readings further from nominal than this are of another bar, another sheet or in another unit. */
const impossibleAt = 0.1;

function printScalePrior(sheet: Sheet, options: ViewOptions, problems: Problem[]): PrintScalePrior {
  const uMm = options.matUMm ?? 0.1;
  const one = (direction: "across" | "along", measuredMm: number | undefined): readonly [number, number] => {
    const nominalMm = sheet.bars.find((bar) => bar.direction === direction)!.lengthMm;
    if (measuredMm === undefined) return [1, uPrintScaleUnmeasured];
    const scale = measuredMm / nominalMm;
    if (Math.abs(scale - 1) <= impossibleAt) return [scale, uMm / nominalMm];
    problems.push({
      code: "mat-other-paper",
      text:
        `the check bar ${direction} the sheet is ${nominalMm} mm nominal on this ${paperName[sheet.paper]} mat, ` +
        `but ${measuredMm} mm was given; it was left out`,
      advice:
        "measure the check bar of the mat in the picture, in mm, from the middle of one end tick to the other",
    });
    return [1, uPrintScaleUnmeasured];
  };
  return { across: one("across", options.matAcrossMm), along: one("along", options.matAlongMm) };
}

const paperName: Record<Sheet["paper"], string> = { a4: "A4", letter: "US Letter", a3: "A3" };

const problem = (code: ProblemCode, text: string, advice: string): Problem => ({ code, text, advice });

const noMatProblem = problem(
  "no-mat",
  "no scale mat is to be seen",
  "lay the part on the printed mat with the markers around it in view, or give a scale; tooth counts need neither",
);
const mirroredProblem = problem(
  "mat-mirrored",
  "the mat is seen as in a mirror",
  "use the photograph as the camera took it, not flipped left to right (some selfie cameras and scanners flip)",
);
const tooLittleProblem = (count: number): Problem =>
  problem(
    "mat-too-little-seen",
    count === 1
      ? "only one marker of the mat can be used"
      : `only ${count} markers of the mat can be used, or all lie on one side`,
    "keep the markers all round the field in view and uncovered, four or more far apart, sharp and without glare",
  );
const notFlatProblem = (bowMm: number): Problem =>
  problem(
    "view-unsolved",
    `the mat is not flat: it bows by about ${bowMm.toFixed(1)} mm, which makes lengths less certain`,
    "lay the mat on a flat, firm table and hold its edges down with weights or tape, or glue it to card",
  );
const twoMatsProblem = (seen: SeenSheet, others: readonly SeenSheet[]): Problem =>
  problem(
    "two-mats",
    `${others.length + 1} mats are in the picture (${[seen, ...others]
      .map(({ sheet, markers }) => `${paperName[sheet.paper]} with ${markers.length} markers`)
      .join(", ")}); the first was used`,
    "photograph one mat at a time, or cover the markers of the others",
  );
