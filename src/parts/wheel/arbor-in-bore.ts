import { selectInPlace, solveLinearLeastSquares } from "../../fit/index.js";
import { cameraCentreMm } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { luminanceFrom } from "../contrast.js";
import { moveToFace, PlaneToPixel, type FacePlane } from "../face-plane.js";
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
  /** The sheet, as bright as beside the part over half of the area. */
  readonly bright: boolean;
  /** What may be the sheet in the shade of the hole: no colour of its own, smooth, and nowhere brighter than the sheet. */
  readonly shaded: boolean;
  /** One even surface, as a sheet is in good light. */
  readonly even: boolean;
  /** A dark ring or spot that does not touch the edge, as where a pivot stands on the end of an arbor: no shadow lies so. */
  readonly ringed: boolean;
}

/** The sheet in good light: its channels lie between these shares of those beside the part, and this close together. */
const asBright = { least: 0.72, most: 1.45, apart: 1.35 };
/** Over this share of the radius it is asked for. */
const brightWithin = 0.8;
/**
 * Ends of arbors mirror lamps, and have edges of their own. Found on path-traced hubs (19 open ones, 16 arbors): the
 * logarithm of the brightest parts over the sheet, of the spread of the channels (median), and of what a curved
 * surface of light leaves unexplained (root mean square).
 */
const mostInShade = { glint: 0.2, tint: 0.12, rough: 0.3 };
/**
 * A hole so deep that its floor has less than this share of the light is shaded more on one side than on the other: between
 * the tenth and the ninetieth part of its floor lies more than this (of 35 path-traced ones 0.31 at the least,
 * logarithm). What is dark and flat is the end of an arbor.
 */
const flatEnd = { level: 0.45, spread: 0.2 };
/** Adds to every channel: the darkest code values say nothing of colour. */
const darkest = 0.004;
/** Standard deviations of the blur; of the radius at least. */
const clearOf = 1.5;
const leastClear = 0.4;
/** A part of the area that noise and stray pixels have to themselves. */
const stray = 0.02;

/**
 * @param face its centre is that of the circle. @param around linear red, green and blue of the sheet beside the part.
 * @param floorShiftMm where the lower edge is seen beside the upper one: beyond it is wall.
 * @param blurMm so near its edges the floor is mixed with them.
 * @returns undefined when part of it lies outside the picture.
 */
export function lookInside(
  photo: Photo,
  face: FacePlane,
  radiusMm: number,
  around: readonly [number, number, number],
  floorShiftMm: Point,
  blurMm: number,
): InsideOfBore | undefined {
  const light = new Float64Array(rings * sectors);
  const floor: FloorPoint[] = [];
  const map = new PlaneToPixel(face.geometry, face.zMm);
  const [dx, dy] = floorShiftMm;
  const clear = Math.min(within, Math.max(leastClear, 1 - (clearOf * blurMm) / radiusMm));
  let bright = 0;
  let asked = 0;
  for (let j = 0; j < rings; j++)
    for (let i = 0; i < sectors; i++) {
      const share = (within * (j + 0.5)) / rings;
      const t = (2 * Math.PI * i) / sectors;
      moveToFace(map, face, share * radiusMm, t);
      const col = Math.round(map.u);
      const row = Math.round(map.v);
      if (!(col >= 0 && row >= 0 && col < photo.widthPx && row < photo.heightPx)) return undefined;
      const p = 3 * (row * photo.widthPx + col);
      const red = linearFromSrgb[photo.rgb[p]!]!;
      const green = linearFromSrgb[photo.rgb[p + 1]!]!;
      const blue = linearFromSrgb[photo.rgb[p + 2]!]!;
      light[j * sectors + i] = luminanceFrom(red, green, blue);
      const overRed = (red + darkest) / (around[0] + darkest);
      const overGreen = (green + darkest) / (around[1] + darkest);
      const overBlue = (blue + darkest) / (around[2] + darkest);
      const low = Math.min(overRed, overGreen, overBlue);
      const high = Math.max(overRed, overGreen, overBlue);
      const area = j + 0.5;
      if (share < brightWithin) {
        asked += area;
        if (low > asBright.least && high < asBright.most && high / low < asBright.apart) bright += area;
      }
      const x = share * Math.cos(t);
      const y = share * Math.sin(t);
      if (share < clear && Math.hypot(x - dx / radiusMm, y - dy / radiusMm) < clear)
        floor.push({
          x,
          y,
          area,
          tint: Math.log(high / low),
          light: Math.log(luminanceFrom(overRed, overGreen, overBlue)),
        });
    }
  return insideOf(light, floor, bright >= 0.5 * asked);
}

function insideOf(light: Float64Array, floor: readonly FloorPoint[], bright: boolean): InsideOfBore {
  // By area: a ring counts as often as it is long.
  const byArea = Float64Array.from(Array.from({ length: rings }, (_, j) => ringOften(light, j)).flat());
  const at = (share: number): number => selectInPlace(byArea, Math.floor(share * (byArea.length - 1)));
  const middle = at(0.5);
  return {
    bright,
    shaded: isShadedSheet(floor),
    even: at(0.9) - at(0.1) < mostSpread * middle,
    ringed: darkApart(light, darkShare * middle) > mostApart,
  };
}

interface FloorPoint {
  /** Shares of the radius. */
  readonly x: number;
  readonly y: number;
  readonly area: number;
  /** Logarithms of ratios to the sheet beside the part. */
  readonly tint: number;
  readonly light: number;
}

function isShadedSheet(floor: readonly FloorPoint[]): boolean {
  if (floor.length < rings * sectors * leastFloor) return false;
  const ranked = (of: (point: FloorPoint) => number, share: number): number =>
    selectInPlace(Float64Array.from(floor, of), Math.floor(share * (floor.length - 1)));
  if (ranked((point) => point.light, 1 - stray) > mostInShade.glint) return false;
  if (ranked((point) => point.tint, 0.5) > mostInShade.tint) return false;
  const spread = ranked((point) => point.light, 0.9) - ranked((point) => point.light, 0.1);
  const level = Math.exp(ranked((point) => point.light, 0.5));
  if (level < flatEnd.level && spread < flatEnd.spread) return false;
  const a = Float64Array.from(floor.flatMap(({ x, y }) => [1, x, y, x * x, x * y, y * y]));
  const areas = Float64Array.from(floor, ({ area }) => area);
  const fit = solveLinearLeastSquares(
    a,
    Float64Array.from(floor, (p) => p.light),
    6,
    areas,
  );
  const all = areas.reduce((sum, area) => sum + area, 0);
  return fit.ok && Math.sqrt(fit.value.sumOfSquares / all) < mostInShade.rough;
}
/** So much of what is asked for must not be hidden by the wall. */
const leastFloor = 0.15;

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
