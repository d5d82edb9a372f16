import { cameraCentreMm } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { quantity, type InputId } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { circleTerms, stretchTerms } from "../camera-terms.js";
import type { FaceHeight } from "../face-height.js";
import { identityAffine, pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { Finding, Part, Point, ToothPlace } from "../part.js";
import { asPinion } from "./as-pinion.js";
import type { Leaves } from "./count-leaves.js";

/** Edges as the network draws them, pixels of the photograph. */
const uEdgePx = 0.5;
/** However long the wall is, and wherever the camera stands: heights of pinions do not differ by more, mm. */
const uUnknownHeightMm = 2.5;

/** A pinion on its end whose leaves were counted from close. */
export function measurePinionEnd(
  photo: Photo,
  view: View,
  leaves: Leaves,
  height: FaceHeight,
  id: string,
  label: string | undefined,
): Part {
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  const [footX, footY, eyeMm] = cameraCentreMm(view.geometry.cameraFromMat);
  const zMm = height.given ? height.outlineMm : leaves.heightMm;
  // Planes are copies of each other about the camera: what is given puts the same picture on another one.
  const by = (eyeMm - zMm) / (eyeMm - leaves.heightMm);
  const tipMm = by * leaves.tipMm;
  const face: FacePlane = {
    geometry: view.geometry,
    zMm,
    xMm: footX + by * (leaves.xMm - footX),
    yMm: footY + by * (leaves.yMm - footY),
    affine: identityAffine,
  };
  const heightId = `height:${label ?? owner}` as InputId;
  const uMm = height.given
    ? height.uOutlineMm
    : Math.hypot(leaves.uHeightMm, uHeightByCameraMm(view, leaves));
  const terms = circleTerms(view, face, tipMm, { id: heightId, uMm });
  const tip = 2 * tipMm;
  const hidden = leaves.places.filter((p) => !p.isSeen).length;
  const findings: Finding[] = [
    {
      code: "pinion-end",
      severity: "note",
      text: `a pinion seen from its end: ${leaves.count} leaves`,
    },
  ];
  if (hidden > 0)
    findings.push({
      code: "leaves-unseen",
      severity: "watch",
      text: `${hidden} of the ${leaves.count} leaves ${hidden === 1 ? "is" : "are"} not seen clearly (shadow, or something beside it): light from several sides shows them`,
    });
  const around = (r: number): Point[] =>
    Array.from({ length: 96 }, (_, i) => pixelFromFace(face, r, (2 * Math.PI * i) / 96));
  const part: Part = {
    id,
    kind: "wheel",
    ...(label === undefined ? {} : { label }),
    centrePx: pixelFromFace(face, 0, 0),
    centreMm: [face.xMm, face.yMm],
    faceHeightMm: height.given
      ? height.faceMm(label ?? owner)
      : quantity(leaves.heightMm, "mm", [[heightId, uMm]]),
    teeth: {
      count: leaves.count,
      probability: leaves.probability,
      alternatives: leaves.alternatives,
      places: leaves.places.map(({ angleRad, isSeen }, i): ToothPlace => ({
        number: i + 1,
        angleRad,
        state: isSeen ? "whole" : "unseen",
        tipPx: pixelFromFace(face, tipMm, angleRad),
      })),
      missing: [],
      bent: [],
    },
    tipDiameterMm: quantity(tip, "mm", [
      ...stretchTerms(terms, tip),
      [`edge:outline-${owner}`, 2 * Math.hypot(uEdgePx / pxPerMmOnFace(face), leaves.uTipMm)],
    ]),
    findings: [],
    problems: [],
    outlinePx: { tipCircle: around(tipMm), rootCircle: [], pitchCircle: [] },
  };
  const pinion = asPinion(part, owner);
  return { ...pinion, findings: [...findings, ...pinion.findings] };
}

/** A wall of the same length on the mat is as high as the camera is, over its distance from the foot point. */
export function uHeightByCameraMm({ geometry, inputs }: View, { xMm, yMm, heightMm }: Leaves): number {
  const [footX, footY, eyeMm] = cameraCentreMm(geometry.cameraFromMat);
  const fromFootMm = Math.hypot(xMm - footX, yMm - footY);
  const wallMm = (heightMm * fromFootMm) / (eyeMm - heightMm);
  const moved = inputs.map(({ geometry: { cameraFromMat } }) => {
    const [x, y, z] = cameraCentreMm(cameraFromMat);
    return (z * wallMm) / (Math.hypot(xMm - x, yMm - y) + wallMm) - heightMm;
  });
  return Math.min(uUnknownHeightMm, Math.hypot(...moved));
}
