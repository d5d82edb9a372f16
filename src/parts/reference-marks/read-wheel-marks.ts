import { fitHarmonics, robustScale } from "../../fit/index.js";
import { cameraCentreMm } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { standardUncertainty } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { circleTerms } from "../camera-terms.js";
import { heightOfFace, type FaceHeights } from "../face-height.js";
import { identityAffine, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { Part, Point } from "../part.js";
import { ThickOutline } from "../thick-outline.js";
import { usualWall } from "../wheel/weigh-centres.js";
import { BareColour, ringSamples } from "./bare-colour.js";
import { readCamera } from "./read-camera.js";
import { readFacePicture } from "./read-face-picture.js";
import { readHubPicture } from "./read-hub-picture.js";
import { readToothPhase, rimContrast } from "./read-tooth-phase.js";
import { readToothShifts } from "./read-tooth-shifts.js";
import type { ToothMarkMm, WheelMarks } from "./wheel-marks.js";

/** Light and lens move the outline on one side by so much, px; the same that parts allow for. */
const floorPx = 0.08;
/** Tips and spacing share most of that: what their difference keeps of it, px, found on rendered photographs. */
const floorTipsOffPx = 0.05;
/**
 * Share of the wall under the flanks that passes for metal: less than under the tips, for it lies deep between the
 * teeth. Found on rendered photographs: 0.3 to 0.45 of bright brass, 0.6 to 0.8 of dull or brown one.
 */
const flankWall = { share: 0.4, perTipShare: 0.8 };

/**
 * Reads off a measured wheel what sets of photographs are compared by.
 *
 * @returns undefined for a part that is no wheel with counted teeth, or without a mat: then there is no frame that
 *   the photographs share.
 */
export function readWheelMarks(
  photo: Photo,
  view: View,
  part: Part,
  heights: FaceHeights = {},
): WheelMarks | undefined {
  const { teeth, centreMm, tipDiameterMm, rootDiameterMm } = part;
  if (view.source !== "mat" || !teeth || !centreMm || !tipDiameterMm || !rootDiameterMm) return undefined;
  // Its marks would be those of another plane in every photograph.
  if (part.tiltRad !== undefined) return undefined;
  const height = heightOfFace(heights, part.label);
  const tipMm = tipDiameterMm.value / 2;
  const rootMm = rootDiameterMm.value / 2;
  const measured: FacePlane = {
    geometry: view.geometry,
    zMm: height.outlineMm,
    xMm: centreMm[0],
    yMm: centreMm[1],
    affine: identityAffine,
  };
  const places = teeth.places.flatMap(({ angleRad, state, ...p }): ToothMarkMm[] => {
    if (state === "missing")
      return [{ angleRad, state, tipDeviationMm: rootMm - tipMm, indexDeviationMm: 0 }];
    const { tipDeviationMm, indexDeviationMm } = p;
    if (tipDeviationMm === undefined || indexDeviationMm === undefined) return [];
    return [{ angleRad, state, tipDeviationMm, indexDeviationMm }];
  });
  const pxPerMm = pxPerMmOnFace(measured);
  const centre = centreOf(places, measured, tipMm, height.edgesApartMm, teeth.flankWallShare ?? 0, pxPerMm);
  if (centre === undefined) return undefined;
  const face: FacePlane = {
    ...measured,
    xMm: measured.xMm + centre.shiftMm[0],
    yMm: measured.yMm + centre.shiftMm[1],
  };
  const contrast = rimContrast(photo, face, rootMm, tipMm);
  if (contrast === undefined) return undefined;
  const phase = readToothPhase(photo, face, teeth.count, rootMm, tipMm, contrast);
  if (phase === undefined) return undefined;
  const onFace: FacePlane = { ...face, zMm: height.faceMm("").value };
  const camera = cameraCentreMm(view.geometry.cameraFromMat);
  const seen = readCamera(photo, view, face, tipMm);
  if (seen === undefined) return undefined;
  const colour = new BareColour(ringSamples(photo, onFace, 0.93 * rootMm, 0.99 * rootMm));
  const apartFromHeight = [...tipDiameterMm.terms].filter(([id]) => !id.startsWith("height:"));
  return {
    partId: part.id,
    ...(part.label === undefined ? {} : { label: part.label }),
    kind: part.kind,
    toothCount: teeth.count,
    countProbability: teeth.probability,
    ...(part.crossings === undefined ? {} : { crossings: part.crossings.count }),
    tipRadiusMm: tipMm,
    rootRadiusMm: rootMm,
    uTipRadiusMm: standardUncertainty({ ...tipDiameterMm, terms: new Map(apartFromHeight) }) / 2,
    outlineMm: height.outlineMm,
    faceMm: onFace.zMm,
    uHeightMm: height.uOutlineMm,
    heightGiven: height.given,
    cameraMm: camera,
    camera: seen,
    pxPerMm,
    centreMm: [face.xMm, face.yMm],
    uCentreMm: centre.uMm,
    uCentreScatterMm: centre.uScatterMm,
    tipsOffMm: centre.tipsOffMm,
    uTipsOffMm: centre.uTipsOffMm,
    wallMm: centre.wallMm,
    centreWallMm: centre.centreWallMm,
    spacingWallMm: centre.spacingWallMm,
    uWallShare: usualWall.u,
    tipsWeight: centre.tipsWeight,
    uSpacingMm: centre.uSpacingMm,
    uSpacingScatterMm: centre.uSpacingScatterMm,
    centreTerms: circleTerms(view, face, tipMm, undefined).map(({ id, dxMm, dyMm }, i) => {
      const moved = cameraCentreMm(view.inputs[i]!.geometry.cameraFromMat);
      return { id, dxMm, dyMm, cameraMm: [moved[0] - camera[0], moved[1] - camera[1], moved[2] - camera[2]] };
    }),
    toothPhaseRad: phase.angleRad,
    uToothPhaseRad: phase.uRad,
    teeth: centre.places,
    shifts: readToothShifts(photo, contrast, face, teeth.count, rootMm, tipMm, phase.angleRad),
    edgesApartMm: height.edgesApartMm,
    coloured: colour.isTold,
    face: readFacePicture(photo, onFace, rootMm, colour),
    hub: readHubPicture(photo, onFace, rootMm, colour),
  };
}

interface Centre {
  /** From the centre that the part states. */
  readonly shiftMm: readonly [number, number];
  readonly uMm: number;
  readonly uScatterMm: number;
  readonly tipsOffMm: Point;
  readonly uTipsOffMm: number;
  readonly wallMm: Point;
  readonly centreWallMm: Point;
  readonly spacingWallMm: Point;
  readonly tipsWeight: number;
  readonly uSpacingMm: number;
  readonly uSpacingScatterMm: number;
  readonly places: readonly ToothMarkMm[];
}

/**
 * The centre once more, for comparison between photographs. The part's own is a mean of tips and spacing that does
 * not mind which wall is seen; between photographs from different places that would look like a movement. A wall
 * that looks out moves tips and spacing as an offset of the centre does; that of the tips only where the whole wheel
 * lies to one side of the foot point. Which counts less depends on that.
 */
function centreOf(
  places: readonly ToothMarkMm[],
  face: FacePlane,
  tipMm: number,
  edgesApartMm: number,
  allowedShare: number,
  pxPerMm: number,
): Centre | undefined {
  const whole = places.filter((p) => p.state === "whole");
  if (whole.length < 8) return undefined;
  const angles = Float64Array.from(whole, (p) => p.angleRad);
  const orders = whole.length >= 16 ? [1, 2, 3] : [1];
  const tips = fitHarmonics(
    angles,
    Float64Array.from(whole, (p) => p.tipDeviationMm),
    orders,
  );
  const spacing = fitHarmonics(
    angles,
    Float64Array.from(whole, (p) => p.indexDeviationMm),
    orders,
  );
  if (!tips.ok || !spacing.ok) return undefined;
  const [t, s] = [tips.value.harmonics[0]!, spacing.value.harmonics[0]!];
  const floor = floorPx / pxPerMm;
  const noise = (residuals: Float64Array, leastPx = floorPx): number =>
    Math.hypot(leastPx / pxPerMm, robustScale(residuals) * Math.sqrt(2 / whole.length));
  const thick = new ThickOutline(face, edgesApartMm);
  const wallShift = [thick.middleShiftMm(-Math.PI / 2), thick.middleShiftMm(0)] as const;
  const tipsWallMm = tipsWall(angles, thick, tipMm);
  const spacingWallMm: Point = [flankWall.perTipShare * wallShift[0], flankWall.perTipShare * wallShift[1]];
  const uTips = noise(tips.value.residuals);
  const radial = {
    at: [t.cosine, t.sine] as const,
    u: Math.hypot(uTips, usualWall.u * Math.hypot(...tipsWallMm)),
  };
  const uSpacing = noise(spacing.value.residuals);
  const tangential = {
    at: [
      -s.sine - (flankWall.share - allowedShare) * wallShift[0],
      s.cosine - (flankWall.share - allowedShare) * wallShift[1],
    ] as const,
    u: Math.hypot(uSpacing, usualWall.u * Math.hypot(...spacingWallMm)),
  };
  const [wr, wt] = [radial.u ** -2, tangential.u ** -2];
  const weight = wt / (wr + wt);
  const shiftMm = [0, 1].map((i) => (wr * radial.at[i]! + wt * tangential.at[i]!) / (wr + wt)) as [
    number,
    number,
  ];
  return {
    shiftMm,
    // Without the wall, which photographs share.
    uMm: Math.max(Math.hypot((1 - weight) * uTips, weight * uSpacing), 0.75 * floor),
    tipsOffMm: [radial.at[0] - tangential.at[0], radial.at[1] - tangential.at[1]],
    uTipsOffMm: Math.hypot(
      noise(tips.value.residuals, floorTipsOffPx),
      noise(spacing.value.residuals, floorTipsOffPx),
    ),
    // With a larger share both are put further back: the difference changes by what one does more than the other.
    wallMm: [spacingWallMm[0] - tipsWallMm[0], spacingWallMm[1] - tipsWallMm[1]],
    spacingWallMm: [-spacingWallMm[0], -spacingWallMm[1]],
    tipsWeight: 1 - weight,
    uSpacingMm: Math.max(uSpacing, floor),
    uScatterMm: Math.hypot(
      (1 - weight) * noise(tips.value.residuals, 0),
      weight * noise(spacing.value.residuals, 0),
    ),
    uSpacingScatterMm: noise(spacing.value.residuals, 0),
    centreWallMm: [0, 1].map((i) => -(1 - weight) * tipsWallMm[i]! - weight * spacingWallMm[i]!) as [
      number,
      number,
    ],
    places: places.map((p) => ({
      ...p,
      tipDeviationMm:
        p.tipDeviationMm - shiftMm[0] * Math.cos(p.angleRad) - shiftMm[1] * Math.sin(p.angleRad),
      indexDeviationMm:
        p.indexDeviationMm + shiftMm[0] * Math.sin(p.angleRad) - shiftMm[1] * Math.cos(p.angleRad),
    })),
  };
}

/** How far the centre of the tips is moved by the wall that looks out under them, for all of it: its first order. */
function tipsWall(angles: Float64Array, thick: ThickOutline, tipMm: number): Point {
  const excess = fitHarmonics(
    angles,
    angles.map((t) => thick.rimExcessMm(t, tipMm)),
    angles.length >= 16 ? [1, 2, 3] : [1],
  );
  const first = excess.ok ? excess.value.harmonics[0]! : { cosine: 0, sine: 0 };
  return [first.cosine, first.sine];
}
