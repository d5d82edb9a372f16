import { fitCircleRobust } from "../fit/index.js";
import { pixelFromMat, pxPerMmAt } from "../geometry/index.js";
import type { Photo } from "../photo/index.js";
import type { View } from "../view/index.js";
import { heightOfFace } from "./face-height.js";
import { compareWithBackground, type AgainstBackground } from "./find/background.js";
import { findColourless, type CloseLook } from "./find-colourless.js";
import type { Classify } from "./find/find-round-parts.js";
import { foregroundByColour, foregroundByLightness, type Foreground } from "./find/foreground.js";
import type { PhotoBox } from "./find/metal-up-close.js";
import { planeFromSmall } from "./find/plane-from-small.js";
import { findPatches, type Patch } from "./find/patches.js";
import { photoFromSmall, shrinkPhoto, smallFromPhoto, type SmallPicture } from "./find/small-picture.js";
import { fillPolygon, plainField, whereToLook } from "./find/where-to-look.js";
import { linearFromSrgb } from "./linear-light.js";
import type { OtherPart } from "./other-part.js";
import type { Point } from "./part.js";
import { measurePlate } from "./plate/measure-plate.js";
import { areaOf } from "./plate/plate-outline.js";

/** A round part that was found already, on the plane of its outline. */
export interface Explained {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
}

export interface Leftover {
  readonly plates: readonly OtherPart[];
  /** Pinions on their end, arbors on their side: told from close. */
  readonly pinions: readonly OtherPart[];
  /** Patches of metal that nothing explains: middle and size. */
  readonly unknown: readonly Unknown[];
  /** Pairs of `explained` parts whose pictures hang together. */
  readonly touching: readonly (readonly [number, number])[];
}

export interface Unknown {
  readonly centrePx: Point;
  readonly centreMm: Point;
  readonly lengthMm: number;
  readonly widthMm: number;
}

const mostSmallPixels = 450_000;
const leastRadiusPx = 4;
/** Smaller than this, on the mat, is a screw, a pin or dirt. */
const leastUnknownMm = 4;
/** Dark things on the plain paper: pinions of six leaves are no larger. */
const leastDarkMm = 3;
const plateAreaMm2 = 500;
const plateShortMm = 16;
/** Round ones. */
const fewestHoles = 3;
/** Of the contour, so much may lie outside the parts that explain it: arbors and shadows stick out. */
const mostUnexplained = 0.25;
/** Metal over hull: plates have few and shallow cut-outs. */
const leastFill = 0.72;
/** So round that it is a disc, not a plate: spread of the hull about its circle over the radius. */
const discRoundness = 0.02;

/**
 * What lies on the mat besides the parts already known: plates; pinions; and what is seen and not understood, so that
 * nothing is dropped without a word. Needs a mat: without one everything in the picture is unknown.
 *
 * @param classify the network; without it nothing without colour is told from a shadow.
 */
export async function findLeftover(
  photo: Photo,
  view: View,
  zMm: number,
  explained: readonly Explained[],
  classify?: Classify,
): Promise<Leftover> {
  const nothing: Leftover = { plates: [], pinions: [], unknown: [], touching: [] };
  if (view.source !== "mat") return nothing;
  const picture = shrinkPhoto(photo, mostSmallPixels);
  const where = whereToLook(picture, view);
  const against = compareWithBackground(picture, where, true);
  if (against === undefined) return nothing;
  // Shadows are no parts.
  const foreground = foregroundByColour(against, where, true);
  const plates: OtherPart[] = [];
  const pinions: OtherPart[] = [];
  const unknown: Unknown[] = [];
  const touching: (readonly [number, number])[] = [];
  const field = plainField(picture, view) ?? where;
  const isField = (u: number, v: number): boolean => {
    const [i, j] = [smallFromPhoto(picture, u), smallFromPhoto(picture, v)].map(Math.round) as [
      number,
      number,
    ];
    return i >= 0 && i < picture.width && field[j * picture.width + i] === 1;
  };
  const told = lookCloser(classify && { photo, view, zMm, classify, isField }, explained);
  const known: Int32Array[] = [];
  for (const patch of findPatches(picture, foreground, leastRadiusPx)) {
    const contour = toPlane(picture, view, patch.contour, zMm);
    const owners = explained.map((_, i) => i).filter((i) => explains(explained[i]!, contour));
    owners.forEach((a, k) => owners.slice(k + 1).forEach((b) => touching.push([a, b])));
    if (unexplained(contour, explained) < mostUnexplained) continue;
    known.push(patch.hull);
    const plate = owners.length === 0 ? plateOf(photo, view, picture, patch, foreground, zMm) : undefined;
    if (plate !== undefined) {
      plates.push(plate);
      continue;
    }
    const seen = describe(picture, view, patch, zMm);
    // What lies across the printed border is the edge of the sheet, a hand, a tool.
    if (seen.lengthMm < leastUnknownMm || !isField(...seen.centrePx)) continue;
    const parts = seen.lengthMm < largestCloseMm ? (await told(boxOf(picture, patch))).parts : [];
    pinions.push(...parts);
    if (parts.length === 0) unknown.push(seen);
  }
  const dark = withoutKnown(foregroundByLightness(against, field), picture, view, zMm, explained, known);
  for (const patch of findPatches(picture, dark, leastRadiusPx)) {
    if (!isDeep(picture, against, dark, patch)) continue;
    const close = await told(boxOf(picture, patch));
    pinions.push(...close.parts);
    unknown.push(...close.unknown);
    const seen = describe(picture, view, patch, zMm);
    if (close.isUnclear && seen.lengthMm >= leastDarkMm) unknown.push(seen);
  }
  return { plates, pinions, unknown, touching };
}

/** The network takes its time: it is asked so often at the most, about the largest things first. */
const mostCloseLooks = 20;
/** Larger things without colour are tools and rags, mm. */
const largestCloseMm = 90;

type LookCloser = (box: PhotoBox) => ReturnType<typeof findColourless>;

function lookCloser(look: CloseLook | undefined, explained: readonly Explained[]): LookCloser {
  if (look === undefined) return () => Promise.resolve({ parts: [], unknown: [], isUnclear: false });
  let left = mostCloseLooks;
  const classify: Classify = async (picture) => (left-- > 0 ? look.classify(picture) : undefined);
  return (box) => findColourless({ ...look, classify }, box, explained);
}

function boxOf(picture: SmallPicture, { hull }: Patch): PhotoBox {
  let [left, right, top, bottom] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < hull.length; i += 2) {
    left = Math.min(left, hull[i]!);
    right = Math.max(right, hull[i]!);
    top = Math.min(top, hull[i + 1]!);
    bottom = Math.max(bottom, hull[i + 1]!);
  }
  const { factor } = picture;
  return {
    left: left * factor,
    top: top * factor,
    width: (right - left + 1) * factor,
    height: (bottom - top + 1) * factor,
  };
}

/** Natural logarithms against the paper: steel lies below -1 or mirrors a light, soft shadows lie above. */
const deepLightness = -0.75;
const brightLightness = 0.2;
const leastDeepShare = 0.1;

function isDeep(
  picture: SmallPicture,
  { lightness }: AgainstBackground,
  { mask }: Foreground,
  patch: Patch,
): boolean {
  const { factor } = picture;
  const { left, top, width, height } = boxOf(picture, patch);
  let [deep, all] = [0, 0];
  for (let j = top / factor; j < (top + height) / factor; j++)
    for (let i = left / factor; i < (left + width) / factor; i++) {
      const p = j * picture.width + i;
      if (mask[p] === 0) continue;
      all++;
      if (lightness[p]! < deepLightness || lightness[p]! > brightLightness) deep++;
    }
  return deep > leastDeepShare * all;
}

/** Takes away what round parts explain, with a little round them, and the hulls of patches dealt with. */
function withoutKnown(
  foreground: Foreground,
  picture: SmallPicture,
  view: View,
  zMm: number,
  explained: readonly Explained[],
  hulls: readonly Int32Array[],
): Foreground {
  const { mask } = foreground;
  for (const { xMm, yMm, radiusMm } of explained)
    fillPolygon(
      mask,
      picture,
      Array.from({ length: 36 }, (_, k): [number, number] => {
        const [r, t] = [1.06 * radiusMm + 0.6, (2 * Math.PI * k) / 36];
        const [u, v] = pixelFromMat(view.geometry, xMm + r * Math.cos(t), yMm + r * Math.sin(t), zMm);
        return [smallFromPhoto(picture, u), smallFromPhoto(picture, v)];
      }),
      0,
    );
  for (const hull of hulls) {
    const n = hull.length / 2;
    let [x, y] = [0, 0];
    for (let i = 0; i < n; i++) {
      x += hull[2 * i]! / n;
      y += hull[2 * i + 1]! / n;
    }
    const grown = Array.from({ length: n }, (_, i): [number, number] => {
      const [dx, dy] = [hull[2 * i]! - x, hull[2 * i + 1]! - y];
      const more = 1 + 6 / Math.max(1, Math.hypot(dx, dy));
      return [x + more * dx, y + more * dy];
    });
    fillPolygon(mask, picture, grown, 0);
  }
  return foreground;
}

function toPlane(picture: SmallPicture, view: View, points: Int32Array, zMm: number): Point[] {
  const flat = planeFromSmall(picture, view, points, zMm);
  return Array.from({ length: flat.length >> 1 }, (_, i) => [flat[2 * i]!, flat[2 * i + 1]!]);
}

/** A part owns a patch whose contour runs along its rim over a good part of the turn. */
function explains(part: Explained, contour: readonly Point[]): boolean {
  const hit = new Uint8Array(24);
  for (const [x, y] of contour) {
    const [dx, dy] = [x - part.xMm, y - part.yMm];
    const r = Math.hypot(dx, dy) / part.radiusMm;
    if (r > 0.85 && r < 1.06) hit[Math.floor(((Math.atan2(dy, dx) / (2 * Math.PI) + 1) % 1) * 24)] = 1;
  }
  return hit.reduce((s, h) => s + h, 0) >= 8;
}

function unexplained(contour: readonly Point[], explained: readonly Explained[]): number {
  const outside = contour.filter(([x, y]) =>
    explained.every((e) => Math.hypot(x - e.xMm, y - e.yMm) > 1.08 * e.radiusMm + 0.5),
  );
  return outside.length / Math.max(1, contour.length);
}

function describe(picture: SmallPicture, view: View, patch: Patch, zMm: number): Unknown {
  const hull = toPlane(picture, view, patch.hull, zMm);
  const xs = hull.map((p) => p[0]);
  const ys = hull.map((p) => p[1]);
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const middle = (from: number): number => {
    let [low, high] = [Infinity, -Infinity];
    for (let i = from; i < patch.hull.length; i += 2) {
      low = Math.min(low, patch.hull[i]!);
      high = Math.max(high, patch.hull[i]!);
    }
    return photoFromSmall(picture, (low + high) / 2);
  };
  return {
    centrePx: [middle(0), middle(1)],
    centreMm: [(x0 + x1) / 2, (y0 + y1) / 2],
    lengthMm: Math.max(x1 - x0, y1 - y0),
    widthMm: Math.min(x1 - x0, y1 - y0),
  };
}

function plateOf(
  photo: Photo,
  view: View,
  picture: SmallPicture,
  patch: Patch,
  foreground: Foreground,
  zMm: number,
): OtherPart | undefined {
  const hull = toPlane(picture, view, patch.hull, zMm);
  const hullArea = areaOf(hull);
  const { lengthMm, widthMm, centrePx, centreMm } = describe(picture, view, patch, zMm);
  if (hullArea < plateAreaMm2 || widthMm < plateShortMm) return undefined;
  if (areaOf(toPlane(picture, view, patch.contour, zMm)) < leastFill * hullArea) return undefined;
  const circle = fitCircleRobust(Float64Array.from(hull.flat()));
  const isDisc =
    circle.ok &&
    hull.every(([x, y]) => {
      const off = Math.hypot(x - circle.value.x, y - circle.value.y) - circle.value.radius;
      return Math.abs(off) < discRoundness * circle.value.radius;
    });
  if (isDisc) return undefined;
  const neutral = paperNear(picture, patch, foreground);
  if (neutral === undefined) return undefined;
  const measureAt: OtherPart["measure"] = (height, id, label) =>
    measurePlate(
      photo,
      view,
      {
        contourMm: toPlane(picture, view, patch.contour, height.outlineMm),
        hullMm: toPlane(picture, view, patch.hull, height.outlineMm),
        zMm: height.outlineMm,
        neutral,
      },
      height,
      id,
      label,
    );
  // A rag or a box lid is flat and coloured too; a plate has round holes.
  const holes = measureAt(heightOfFace({}, undefined), "trial", undefined)?.holes ?? [];
  if (holes.filter((h) => h.kind !== "opening").length < fewestHoles) return undefined;
  return {
    centrePx,
    radiusPx: (Math.min(lengthMm, widthMm) / 2) * pxPerMmAt(view.geometry, centreMm[0], centreMm[1], zMm),
    xMm: centreMm[0],
    yMm: centreMm[1],
    reachMm: lengthMm / 2,
    measure: measureAt,
  };
}

/** Linear light of the bare paper round a patch: the median of what is no part, a few pixels off its contour. */
function paperNear(
  picture: SmallPicture,
  patch: Patch,
  foreground: Foreground,
): [number, number, number] | undefined {
  const channels: [number[], number[], number[]] = [[], [], []];
  const n = patch.contour.length / 2;
  let [u, v] = [0, 0];
  for (let i = 0; i < n; i++) {
    u += patch.contour[2 * i]! / n;
    v += patch.contour[2 * i + 1]! / n;
  }
  for (let i = 0; i < n; i += 3) {
    const [du, dv] = [patch.contour[2 * i]! - u, patch.contour[2 * i + 1]! - v];
    const far = 1 + 9 / Math.max(1, Math.hypot(du, dv));
    const [x, y] = [Math.round(u + far * du), Math.round(v + far * dv)];
    if (!(x >= 0 && y >= 0 && x < picture.width && y < picture.height)) continue;
    const p = y * picture.width + x;
    if (foreground.mask[p] !== 0) continue;
    channels.forEach((c, k) => c.push(linearFromSrgb[picture.rgb[3 * p + k]!]!));
  }
  if (channels[0].length < 12) return undefined;
  const of = (c: number[]): number => c.sort((a, b) => a - b)[Math.floor(0.6 * c.length)]! + 1e-3;
  return [of(channels[0]), of(channels[1]), of(channels[2])];
}
