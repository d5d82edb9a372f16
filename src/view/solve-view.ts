import type { Photo } from "../photo/index.js";
import type { Problem } from "../problem/index.js";
import { chooseSheets } from "./choose-sheet.js";
import { edgeModel, plainEdge } from "./edge-model.js";
import { findMarkers, type FoundMarkers } from "./find-markers.js";
import { viewFromPxPerMm, viewFromTwoPoints, viewWithoutScale, type GivenScale } from "./given-view.js";
import { guessBlurSigmaPx } from "./guess-blur.js";
import { LinearLight } from "./linear-light.js";
import { unknown } from "./mat-camera.js";
import { measurePaperShade } from "./paper-shade.js";
import { barsContradicted, printScalePrior } from "./print-scale-prior.js";
import { scaleUncertainty } from "./scale-uncertainty.js";
import { readTags, seenMat } from "./seen-mat.js";
import { bowRangeMm } from "./sheet-bow.js";
import { solveAgainHeld } from "./solve-mat-camera.js";
import { observationsOf, solveSheet } from "./solve-sheet.js";
import { solvedCamera } from "./solved-camera.js";
import { viewInputs } from "./view-inputs.js";
import {
  barsProblem,
  mirroredProblem,
  noMatProblem,
  notFlatProblem,
  tooLittleProblem,
  twoMatsProblem,
} from "./view-problems.js";
import type { View } from "./view.js";

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
  const light = new LinearLight(photo);
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
  const uScale = inputs ? scaleUncertainty(photo, seen.sheet, camera.geometry, inputs) : Infinity;
  if (!inputs || !(uScale < worstScaleU)) {
    problems.push(tooLittleProblem(markers.length));
    return undefined;
  }
  if (uScale > poorScaleU || (markers.length < 4 && uScale > poorScaleU / 2)) {
    problems.push(tooLittleProblem(markers.length));
  }
  if (print.measured && barsContradicted(camera, print)) problems.push(barsProblem(print));
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
    solved: solvedCamera(camera),
    edge: edgeModel(light, camera, markers),
    ...(paper && { paper }),
    mat: seenMat(seen.sheet, camera, markers, print.measured),
  };
}
