import { fitCircleRobust } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import {
  angleOfVector,
  magnitudeOfVector,
  quantity,
  type InputId,
  type Quantity,
} from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { circleTerms, stretchTerms } from "../camera-terms.js";
import type { Contrast } from "../contrast.js";
import type { FaceHeight } from "../face-height.js";
import { pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { Part, Point } from "../part.js";
import { ThickOutline } from "../thick-outline.js";
import type { Rim } from "../wheel/find-rim.js";
import { standsAway } from "../wheel/arbor-in-bore.js";
import { readWeb } from "../wheel/read-web.js";
import { lensBlurPx, signalBlurPx } from "../wheel/signal-blur.js";
import { usualWall } from "../wheel/weigh-centres.js";

export interface Disc {
  readonly face: FacePlane;
  readonly radiusMm: number;
  /** Everything a round part has without teeth: centre, diameter, bore, crossings, outline. */
  readonly base: Omit<Part, "kind" | "findings" | "problems">;
}

/** What bevel, light and stored colour leave open of an outline, px. */
const uOutlinePx = 0.35;
/** Of the turn, so much of the rim must be seen. */
const leastShown = 0.25;

/**
 * The smooth rim of a disc: circle through its outline, notches and dents left aside.
 *
 * @returns undefined where too little of the rim is seen.
 */
export function measureDisc(
  photo: Photo,
  view: View,
  contrast: Contrast,
  rim: Rim,
  height: FaceHeight,
  id: string,
  label: string | undefined,
): Disc | undefined {
  const pxMm = 1 / pxPerMmOnFace(rim.face);
  const thick = new ThickOutline(rim.face, height.edgesApartMm);
  const points: number[] = [];
  let wallMm = 0;
  const n = rim.outlineMm.length;
  for (let i = 0; i < n; i++) {
    const t = (2 * Math.PI * i) / n;
    const r = rim.outlineMm[i]!;
    if (!(r > 0.97 * rim.tipMm)) continue;
    const excessMm = thick.rimExcessMm(t, r);
    const edge = r - usualWall.share * excessMm;
    wallMm += excessMm;
    points.push(edge * Math.cos(t), edge * Math.sin(t));
  }
  if (points.length < 2 * leastShown * n) return undefined;
  const fit = fitCircleRobust(Float64Array.from(points), { uPointMm: 0.2 * pxMm });
  if (!fit.ok) return undefined;
  const { x, y, radius } = fit.value;
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  // How bright the wall is and how thick the disc widen it all round.
  const uThickness = height.edgesApartMm > 0 ? height.uOutlineMm / height.edgesApartMm : 0;
  const uOutlineWallMm = (Math.hypot(usualWall.u, usualWall.share * uThickness) * 2 * wallMm) / points.length;
  const face: FacePlane = { ...rim.face, xMm: rim.face.xMm + x, yMm: rim.face.yMm + y };
  const web = readWeb(
    photo,
    contrast,
    face,
    0.93 * radius,
    new ThickOutline(face, height.edgesApartMm),
    usualWall,
    { lensPx: lensBlurPx(view), signalPx: signalBlurPx(view, photo, contrast) },
  );
  const heightInput =
    view.source === "mat" ? { id: `height:${label ?? owner}` as InputId, uMm: height.uOutlineMm } : undefined;
  const terms = circleTerms(view, face, radius, heightInput);
  const uEdgeMm = Math.hypot(uOutlinePx, 0.5 * view.edge.uShiftPx) * pxMm;
  const about = (xMm: number, yMm: number, r: number): Point[] =>
    Array.from({ length: 96 }, (_, i) =>
      pixelFromFace({ ...face, xMm: face.xMm + xMm, yMm: face.yMm + yMm }, r, (2 * Math.PI * i) / 96),
    );
  const scaled = view.source !== "none";
  const diameter = (
    r: number,
    sign: 1 | -1,
    own: number,
    name: string,
    more: readonly (readonly [InputId, number])[] = [],
  ): Quantity<"mm"> =>
    quantity(2 * r, "mm", [
      ...stretchTerms(terms, 2 * r),
      [`fit:${name}-${owner}`, 2 * own],
      [`edge:outline-${owner}`, sign * 2 * uEdgeMm],
      ...more,
    ]);
  const component = (value: number, i: number, u: number): Quantity<"mm"> =>
    quantity(value, "mm", [[`fit:disc-${i}-${owner}`, u]]);
  const uWallMm = usualWall.u * Math.hypot(...(web.bore?.perWallMm ?? [0]));
  const uCentre = web.bore === undefined ? 0 : Math.hypot(web.bore.uCentreMm, uWallMm, 0.15 * pxMm);
  const isArbor =
    view.source === "mat" &&
    web.bore?.surelyOpen === false &&
    standsAway(face, [web.bore.xMm, web.bore.yMm], uCentre);
  const bore = isArbor ? undefined : web.bore;
  const ex = component(-(bore?.xMm ?? 0), 0, uCentre);
  const ey = component(-(bore?.yMm ?? 0), 1, uCentre);
  const angle = angleOfVector(ex, ey);
  return {
    face,
    radiusMm: radius,
    base: {
      id,
      ...(label === undefined ? {} : { label }),
      centrePx: pixelFromFace(face, 0, 0),
      ...(scaled ? { centreMm: [face.xMm, face.yMm] as const } : {}),
      ...(view.source === "mat" ? { faceHeightMm: height.faceMm(label ?? owner) } : {}),
      ...(scaled
        ? {
            tipDiameterMm: diameter(radius, 1, 0.15 * pxMm, "disc", [
              [`edge:wall-${owner}`, 2 * uOutlineWallMm],
            ]),
          }
        : {}),
      ...(web.crossings === undefined ? {} : { crossings: { count: web.crossings } }),
      ...(bore === undefined || !scaled
        ? {}
        : {
            boreDiameterMm: diameter(bore.radiusMm, -1, bore.uRadiusMm, "bore"),
            eccentricityMm: magnitudeOfVector(ex, ey),
            ...(angle === undefined ? {} : { eccentricityAngleRad: angle }),
          }),
      outlinePx: {
        tipCircle: about(0, 0, radius),
        rootCircle: [],
        pitchCircle: [],
        ...(bore === undefined ? {} : { bore: about(bore.xMm, bore.yMm, bore.radiusMm) }),
      },
    },
  };
}
