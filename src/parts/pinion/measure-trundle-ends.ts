import type { Photo } from "../../photo/index.js";
import { quantity, type InputId } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { circleTerms, stretchTerms } from "../camera-terms.js";
import { identityAffine, pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { Part, Point, ToothPlace } from "../part.js";
import { lanternSizes } from "./lantern-sizes.js";
import type { TrundleEnds } from "./find-trundle-ends.js";

/** Middles of spots, as colour shows them, pixels of the photograph. */
const uMiddlePx = 0.5;

/** Trundle ends on a plane over the mat. */
export interface LanternEnd extends TrundleEnds {
  /** The axis, in the frame of the view, at the height of the ends. */
  readonly xMm: number;
  readonly yMm: number;
  readonly heightMm: number;
  readonly uHeightMm: number;
}

/** A lantern pinion of which the upper cap shows the ends of the trundles. Its cap is not measured. */
export function measureTrundleEnds(photo: Photo, view: View, end: LanternEnd, id: string): Part {
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  const { count, probability, circleMm, places, heightMm: zMm } = end;
  const face: FacePlane = {
    geometry: view.geometry,
    zMm,
    xMm: end.xMm,
    yMm: end.yMm,
    affine: identityAffine,
  };
  const heightId = `height:${owner}` as InputId;
  const terms = circleTerms(view, face, circleMm, { id: heightId, uMm: end.uHeightMm });
  const circle = quantity(2 * circleMm, "mm", [
    ...stretchTerms(terms, 2 * circleMm),
    [`edge:circle-${owner}`, (2 * uMiddlePx) / pxPerMmOnFace(face)],
  ]);
  const around = Array.from({ length: 96 }, (_, i): Point =>
    pixelFromFace(face, circleMm, (2 * Math.PI * i) / 96),
  );
  const other = (1 - probability) / 2;
  return {
    id,
    ...lanternSizes(count, circle),
    centrePx: pixelFromFace(face, 0, 0),
    centreMm: [face.xMm, face.yMm],
    faceHeightMm: quantity(zMm, "mm", [[heightId, end.uHeightMm]]),
    teeth: {
      count,
      probability,
      alternatives: [
        { count: count - 1, probability: other },
        { count: count + 1, probability: other },
      ],
      places: places.map(({ angleRad, isSeen }, i): ToothPlace => ({
        number: i + 1,
        angleRad,
        state: isSeen ? "whole" : "unseen",
        tipPx: pixelFromFace(face, circleMm, angleRad),
      })),
      missing: [],
      bent: [],
    },
    findings: [],
    problems: [],
    outlinePx: { tipCircle: around, rootCircle: [], pitchCircle: [] },
  };
}
