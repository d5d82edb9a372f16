import type { ViewGeometry } from "../geometry/index.js";
import { failed, ok, type Outcome } from "../problem/index.js";
import type { InputId } from "../quantity/index.js";

/** Two points of the photograph, px, and how far they are apart. */
export interface GivenScale {
  readonly x1: number;
  readonly y1: number;
  readonly x2: number;
  readonly y2: number;
  readonly mm: number;
}

/** A geometry without a mat: straight down from far away, so that the same mapping serves. */
export interface FlatView {
  readonly geometry: ViewGeometry;
  readonly inputs: readonly { readonly id: InputId; readonly geometry: ViewGeometry }[];
}

const distanceMm = 1e6;
/** How well a point is picked in a photograph by eye, px. */
const uPickPx = 1;
/** How well the distance of the two points is measured, mm: a steel rule, read by eye (common practice, no source). */
const uRuleMm = 0.15;
/** Of a px/mm figure that comes without its uncertainty. */
const uGivenRelative = 0.005;
/**
 * A photograph from above taken by hand leans by some 3 degrees about either axis, which shortens one direction
 * by 1 - cos against the other: 0.14 % on average for one axis at one standard uncertainty, 0.3 % at 4.4 degrees.
 */
const uLeanRelative = 0.003;

/** Scale from two points. Problem "scale-off-picture" when they cannot serve. */
export function viewFromTwoPoints(
  { x1, y1, x2, y2, mm }: GivenScale,
  widthPx: number,
  heightPx: number,
  owner: string,
): Outcome<FlatView> {
  const inside = (x: number, y: number): boolean =>
    x >= -0.5 && y >= -0.5 && x <= widthPx - 0.5 && y <= heightPx - 0.5;
  if (!inside(x1, y1) || !inside(x2, y2)) {
    return failed(
      "scale-off-picture",
      `the scale points (${x1}, ${y1}) and (${x2}, ${y2}) must lie in the picture of ${widthPx} x ${heightPx} pixels`,
      "give both points in pixels of the upright photograph, counted from its top left corner",
    );
  }
  const lengthPx = Math.hypot(x2 - x1, y2 - y1);
  if (!(lengthPx >= 10) || !(mm > 0) || !Number.isFinite(mm)) {
    return failed(
      "scale-off-picture",
      `a scale needs two points at least 10 pixels apart and a length in mm, received ${lengthPx.toFixed(1)} pixels for ${mm} mm`,
      "choose two points far apart, best across the whole part",
    );
  }
  const uRelative = Math.hypot((Math.SQRT2 * uPickPx) / lengthPx, uRuleMm / mm);
  return ok(
    flatView(lengthPx / mm, widthPx, heightPx, owner, { id: `scale:two-points-${owner}`, uRelative }),
  );
}

/** Scale given as px/mm. The same figure for several photographs is one input. */
export function viewFromPxPerMm(
  pxPerMm: number,
  widthPx: number,
  heightPx: number,
  owner: string,
): Outcome<FlatView> {
  if (!(pxPerMm > 0) || !Number.isFinite(pxPerMm)) {
    return failed(
      "scale-off-picture",
      `pixels per mm: expected a number above 0, received ${pxPerMm}`,
      "give how many pixels of the photograph one millimetre takes",
    );
  }
  return ok(
    flatView(pxPerMm, widthPx, heightPx, owner, { id: "scale:px-per-mm", uRelative: uGivenRelative }),
  );
}

/** No scale: one pixel stands for one millimetre. Ratios keep the uncertainty of an unknown lean. */
export const viewWithoutScale = (widthPx: number, heightPx: number, owner: string): FlatView =>
  flatView(1, widthPx, heightPx, owner);

function flatView(
  pxPerMm: number,
  widthPx: number,
  heightPx: number,
  owner: string,
  scale?: { readonly id: InputId; readonly uRelative: number },
): FlatView {
  const geometry = (acrossFactor: number, alongFactor: number): ViewGeometry => ({
    camera: {
      fxPx: pxPerMm * distanceMm * acrossFactor,
      fyPx: pxPerMm * distanceMm * alongFactor,
      cxPx: (widthPx - 1) / 2,
      cyPx: (heightPx - 1) / 2,
      k1: 0,
      k2: 0,
    },
    // Mat x right and y up against camera x right and y down; mat z comes towards the camera.
    cameraFromMat: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translationMm: [0, 0, distanceMm] },
  });
  const inputs: { id: InputId; geometry: ViewGeometry }[] = [];
  if (scale) {
    // More mm than thought means fewer px per mm.
    const factor = 1 / (1 + scale.uRelative);
    inputs.push({ id: scale.id, geometry: geometry(factor, factor) });
  }
  inputs.push(
    { id: `pose:lean-across-${owner}`, geometry: geometry(1 - uLeanRelative, 1) },
    { id: `pose:lean-along-${owner}`, geometry: geometry(1, 1 - uLeanRelative) },
  );
  return { geometry: geometry(1, 1), inputs };
}
