import { selectInPlace } from "../../fit/index.js";
import { cameraCentreMm } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { luminanceOf } from "../contrast.js";
import { pixelFromFace, type FacePlane } from "../face-plane.js";
import { linearFromSrgb } from "../linear-light.js";
import type { Point } from "../part.js";

/** Trap 3: the polished end of an arbor mirrors the room as brightly as paper, and looks like a hole where it stands. */

const rings = 10;
const sectors = 48;
/** Within this share of the radius: the edge itself is soft, and its wall dark. */
const within = 0.9;
/** Darker than this share of what is seen for the most part. */
const darkShare = 0.62;
/** Of the area: dark places that do not reach the edge. */
const mostApart = 0.03;
/** Paper in a hole is as bright everywhere, by this much between its tenth and its ninetieth part, as a share. */
const mostSpread = 0.5;

/** What is seen inside a circle that may be a hole. */
export interface InsideOfBore {
  /** One even surface, as a sheet is in good light. */
  readonly even: boolean;
  /** A dark ring or spot that does not touch the edge, as where a pivot stands on the end of an arbor: no shadow lies so. */
  readonly ringed: boolean;
}

/** @param face its centre is that of the circle. @returns undefined when part of it lies outside the picture. */
export function lookInside(photo: Photo, face: FacePlane, radiusMm: number): InsideOfBore | undefined {
  const light = new Float64Array(rings * sectors);
  for (let j = 0; j < rings; j++)
    for (let i = 0; i < sectors; i++) {
      const [u, v] = pixelFromFace(
        face,
        (within * radiusMm * (j + 0.5)) / rings,
        (2 * Math.PI * i) / sectors,
      );
      const [x, y] = [Math.round(u), Math.round(v)];
      if (!(x >= 0 && y >= 0 && x < photo.widthPx && y < photo.heightPx)) return undefined;
      const p = 3 * (y * photo.widthPx + x);
      light[j * sectors + i] = luminanceOf([0, 1, 2].map((c) => linearFromSrgb[photo.rgb[p + c]!]!));
    }
  // By area: a ring counts as often as it is long.
  const byArea = Float64Array.from(Array.from({ length: rings }, (_, j) => ringOften(light, j)).flat());
  const at = (share: number): number => selectInPlace(byArea, Math.floor(share * (byArea.length - 1)));
  const middle = at(0.5);
  return {
    even: at(0.9) - at(0.1) < mostSpread * middle,
    ringed: darkApart(light, darkShare * middle) > mostApart,
  };
}

const ringOften = (light: Float64Array, j: number): number[] =>
  Array.from({ length: j + 1 }, () => [...light.subarray(j * sectors, (j + 1) * sectors)]).flat();

/** Share of the area that is dark and not joined to the outermost ring by dark places. */
function darkApart(light: Float64Array, level: number): number {
  const joined = new Uint8Array(light.length);
  const open: number[] = [];
  const take = (j: number, i: number): void => {
    const at = j * sectors + ((i + sectors) % sectors);
    if (j < 0 || j >= rings || joined[at] || !(light[at]! < level)) return;
    joined[at] = 1;
    open.push(at);
  };
  for (let i = 0; i < sectors; i++) take(rings - 1, i);
  for (let at = open.pop(); at !== undefined; at = open.pop()) {
    const [j, i] = [Math.floor(at / sectors), at % sectors];
    take(j - 1, i);
    take(j + 1, i);
    take(j, i - 1);
    take(j, i + 1);
  }
  let apart = 0;
  let all = 0;
  for (let at = 0; at < light.length; at++) {
    const area = Math.floor(at / sectors) + 0.5;
    all += area;
    if (!joined[at] && light[at]! < level) apart += area;
  }
  return apart / all;
}

/** Arbors stand so far above the face, mm. */
const arborHeight = { from: 0.8, to: 60 };
/** Cosine of the angle within which it is seen straight away from the camera's foot point. */
const straightAway = 0.85;

/**
 * Is a hole seen beside the middle of the teeth where the end of an arbor would be that stands in the middle of them?
 * What stands above the face is seen away from the foot point of the camera, by its height.
 *
 * @param besideMm hole minus middle of the teeth, on the face. @param uMm of a coordinate of it.
 */
export function standsAway(face: FacePlane, besideMm: Point, uMm: number): boolean {
  const [footX, footY, cameraZ] = cameraCentreMm(face.geometry.cameraFromMat);
  const away: Point = [face.xMm - footX, face.yMm - footY];
  const far = Math.hypot(...away);
  const beside = Math.hypot(...besideMm);
  if (!(beside > 3 * uMm) || !(far > 0)) return false;
  const along = (besideMm[0] * away[0] + besideMm[1] * away[1]) / (beside * far);
  const heightMm = ((cameraZ - face.zMm) * beside) / (far + beside);
  return along > straightAway && heightMm > arborHeight.from && heightMm < arborHeight.to;
}
