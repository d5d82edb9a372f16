import type { Photo } from "../../photo/index.js";
import { quantity, type InputId, type Quantity } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { circleTerms, stretchTerms } from "../camera-terms.js";
import type { FaceHeight } from "../face-height.js";
import { identityAffine, pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import { FaceSampler } from "../face-sampler.js";
import { linearFromSrgb } from "../linear-light.js";
import type { Part, Point } from "../part.js";
import { storedColourBlurPx } from "../wheel/signal-blur.js";
import type { CentredHole } from "./centre-hole.js";
import { checkPlate } from "./check-plate.js";
import { edgesApartFromHoles } from "./edges-apart-from-holes.js";
import { EdgeSampler, topCode } from "./edge-sampler.js";
import type { HoleGuess } from "./find-holes.js";
import { findOpenHoles, roundSupport, type NoHole } from "./find-open-holes.js";
import { fitHoles } from "./fit-holes.js";
import type { Sharpness } from "./learn-sharpness.js";
import { holeOf, measureHole, type MeasuredHole, type OwnEdge } from "./measure-hole.js";
import { nameHoles } from "./name-holes.js";
import type { PlateFace } from "./plate-face.js";
import { refineRectangle, smallestRectangle, type Rectangle } from "./plate-outline.js";
import { learnPlateSignal } from "./plate-signal.js";
import { simplified, traceOutline } from "./trace-outline.js";

/** A plate as it was found: contour and hull on the plane of its outline, mat frame, mm. */
export interface PlateGuess {
  readonly contourMm: readonly Point[];
  readonly hullMm: readonly Point[];
  readonly zMm: number;
  /** Linear light of the bare paper. */
  readonly neutral: readonly [number, number, number];
  /** It may have no colour: then it goes by lightness. */
  readonly mayBeGrey: boolean;
}

/** A wheel that lies on a plate, mat frame: what is seen through it is not told from holes of the plate. */
export interface CoveredBy {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
}

/** What is seen of a plate, its outline and its two faces being at certain heights. */
export interface PlateSeen extends PlateFace {
  readonly photo: Photo;
  readonly guess: PlateGuess;
  readonly leastMm: number;
  readonly sides: Rectangle;
  readonly outline: readonly Point[];
  readonly holes: readonly CentredHole[];
  readonly noHoles: readonly NoHole[];
  /** A good part of it is so bright that it is white. */
  readonly isBlown: boolean;
}

/** Smallest hole of a clock plate that is looked for, mm and px. */
const leastHoleMm = 0.7;
const leastHolePx = 5;
/** On grey metal blotches and lines of a brushed face pass for edges: a hole's shape is believed where so much lies on it. */
const greySupport = 0.7;
/** Nor where both ways to tell the edge see ovals that differ by more, standard uncertainty of either wave, mm. */
const mostGreyOvalMm = 0.15;
/** Of the sides of the plate. */
const uSidePx = 0.8;

/** Reads outline and holes of a plate; undefined where its metal has neither colour nor lightness to go by. */
export function seePlate(
  photo: Photo,
  view: View,
  guess: PlateGuess,
  height: FaceHeight,
  sharpness: Sharpness,
): PlateSeen | undefined {
  const rectangle = smallestRectangle(guess.hullMm);
  const face: FacePlane = {
    geometry: view.geometry,
    zMm: guess.zMm,
    xMm: rectangle.xMm,
    yMm: rectangle.yMm,
    affine: identityAffine,
  };
  const pxMm = 1 / pxPerMmOnFace(face);
  const sampler = new FaceSampler(photo, face, linearFromSrgb);
  const local = ([x, y]: Point): Point => [x - face.xMm, y - face.yMm];
  const contour = guess.contourMm.map(local);
  const samples = samplesOf(sampler, contour);
  const coloured = belowTop(samples);
  const signal = learnPlateSignal(coloured, guess.neutral, guess.mayBeGrey);
  if (signal === undefined) return undefined;
  const sides = refineRectangle(sampler, signal, { ...rectangle, xMm: 0, yMm: 0 }, 1.5, 0.5 * pxMm);
  const outline = simplified(traceOutline(sampler, signal, contour, pxMm), 0.5 * pxMm);
  const leastMm = Math.max(leastHoleMm, leastHolePx * pxMm);
  const plate = {
    view,
    face,
    sampler,
    edges: new EdgeSampler(photo, face, signal, signal.hasColour),
    sharpness,
    colourBlurPx: storedColourBlurPx(photo),
    signal,
    pxMm,
  };
  const first = findOpenHoles(plate, contour, height, leastMm);
  // On pillars the height of the face says nothing of the thickness.
  const told = height.liesOnMat ? undefined : edgesApartFromHoles(plate, first.holes, height.edgesApartMm);
  const edgesApartMm = told?.apartMm ?? height.edgesApartMm;
  const isAsThought = edgesApartMm === height.edgesApartMm;
  const { holes, noHoles } = isAsThought
    ? first
    : findOpenHoles(plate, contour, { ...height, edgesApartMm }, leastMm);
  const isBlown = coloured.length < samples.length;
  const uApart = told && { uEdgesApartMm: told.uMm };
  return { ...plate, ...uApart, photo, guess, leastMm, sides, outline, holes, noHoles, isBlown };
}

/** Holes, and ends of posts, that are as good as round and no wider than `widestMm`, by half height alone. */
export const roundHolesOf = ({ holes, noHoles }: PlateSeen, widestMm: number): number =>
  holes.filter((h) => h.support > roundSupport && 2 * h.shape[2] < widestMm).length +
  noHoles.filter((h) => 2 * h.radiusMm < widestMm).length;

/** Everything that one photograph gives for one plate, as it was seen at this height. */
export function measurePlate(
  plate: PlateSeen,
  height: FaceHeight,
  id: string,
  label: string | undefined,
  covered: readonly CoveredBy[] = [],
): Part {
  const { photo, view, guess, face, sides, outline, pxMm, leastMm } = plate;
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  const heightInput =
    view.source === "mat" ? { id: `height:${label ?? owner}` as InputId, uMm: height.uOutlineMm } : undefined;
  const local = ([x, y]: Point): Point => [x - face.xMm, y - face.yMm];
  const free = plate.holes.filter((h) => !isCovered(h.guess, face, covered));
  const noHoles = plate.noHoles
    .filter((h) => !isCovered(h, face, covered))
    .map((h) => ({ ...h, xMm: face.xMm + h.xMm, yMm: face.yMm + h.yMm }));
  const all = fitHoles(free)
    .map((h) => measureHole(h, plate, owner, heightInput))
    .filter((h) => 2 * h.fit.radiusMm >= leastMm);
  const isShown = ({ fit }: MeasuredHole): boolean =>
    plate.signal.hasColour || (fit.support > greySupport && fit.uOvalMm < mostGreyOvalMm);
  const holes = all.filter(isShown);
  for (const { centreMm, fit } of all.filter((h) => !isShown(h)))
    noHoles.push({ xMm: centreMm[0], yMm: centreMm[1], radiusMm: fit.radiusMm, isPost: false });
  const kinds = nameHoles(
    holes.map((h) => ({
      diameterMm: h.diameterMm.value,
      uDiameterMm: 2 * h.fit.uRadiusMm,
      ovalityMm: h.ovalityMm.value,
      uOvalityMm: 4 * h.fit.uOvalMm,
      isRound: h.fit.support > roundSupport,
      isSunk: h.fit.isSunk,
      fromEdgeMm: fromEdge(h.fit, sides),
    })),
    sides.widthMm,
  );
  // From the top of the sheet downwards, then from the left.
  const order = holes
    .map((h, i) => ({ ...h, kind: kinds[i]! }))
    .sort((a, b) => b.centreMm[1] - a.centreMm[1] || a.centreMm[0] - b.centreMm[0]);
  const isCutOff = guess.contourMm.some((p) => isAtBorder(photo, pixelOf(face, local(p))));
  const length = (value: number): Quantity<"mm"> =>
    quantity(value, "mm", [
      ...stretchTerms(circleTerms(view, face, value / 2, heightInput), value),
      [`edge:outline-${owner}`, uSidePx * pxMm],
    ]);
  const base: Part = {
    id,
    kind: "plate",
    ...(label === undefined ? {} : { label }),
    centrePx: pixelOf(face, [sides.xMm, sides.yMm]),
    centreMm: [face.xMm + sides.xMm, face.yMm + sides.yMm],
    ...(view.source === "mat" ? { faceHeightMm: height.faceMm(label ?? owner) } : {}),
    plate: {
      outlineMm: outline.map(([x, y]): Point => [face.xMm + x, face.yMm + y]),
      lengthMm: length(sides.lengthMm),
      widthMm: length(sides.widthMm),
      isCutOff,
      uScale: Math.hypot(...circleTerms(view, face, sides.lengthMm / 2, heightInput).map((t) => t.stretch)),
    },
    holes: order.map((hole, i) => holeOf(hole, `H${i + 1}`)),
    outlinePx: {
      // Whoever draws parts draws this line round them.
      tipCircle: outline.map((p) => pixelOf(face, p)),
      rootCircle: [],
      pitchCircle: [],
      edge: outline.map((p) => pixelOf(face, p)),
    },
    findings: [],
    problems: [],
  };
  return { ...base, findings: checkPlate(base, plate.isBlown, noHoles, !plate.signal.hasColour) };
}

/** The teeth's ring lies within the tips. */
const beyondRing = 1.12;

const isCovered = (
  { xMm, yMm }: Pick<HoleGuess, "xMm" | "yMm">,
  face: FacePlane,
  covered: readonly CoveredBy[],
): boolean =>
  covered.some((c) => Math.hypot(face.xMm + xMm - c.xMm, face.yMm + yMm - c.yMm) < beyondRing * c.radiusMm);

const pixelOf = (face: FacePlane, [x, y]: Point): [number, number] =>
  pixelFromFace(face, Math.hypot(x, y), Math.atan2(y, x));

const isAtBorder = (photo: Photo, [u, v]: Point): boolean =>
  u < 6 || v < 6 || u > photo.widthPx - 7 || v > photo.heightPx - 7;

/** The middle of the plate, without what lies within a few mm of its outline. */
function samplesOf(sampler: FaceSampler, contour: readonly Point[]): number[] {
  const samples: number[] = [];
  // Scaled copies of the outline: holes and shadows are outvoted by the median.
  for (const share of [0.25, 0.45, 0.6, 0.75, 0.86])
    for (let k = 0; k < 80; k++) {
      const p = contour[Math.floor((k * contour.length) / 80)]!;
      if (sampler.at(share * p[0], share * p[1])) samples.push(sampler.red, sampler.green, sampler.blue);
    }
  return samples;
}

/** Fewer samples below the top than this share, and they alone say what colour the metal has. */
const mostBelowTop = 0.75;
const fewestColoured = 20;
const topLight = linearFromSrgb[topCode]!;

/** Samples r, g, b ... without those that are blown out: under flash half a plate may be white. */
function belowTop(samples: readonly number[]): readonly number[] {
  const coloured = samples.filter((_, i) =>
    samples.slice(i - (i % 3), i - (i % 3) + 3).every((v) => v < topLight),
  );
  const isEnough = coloured.length >= 3 * fewestColoured;
  return isEnough && coloured.length < mostBelowTop * samples.length ? coloured : samples;
}

function fromEdge(fit: OwnEdge, sides: Rectangle): number {
  const [cos, sin] = [Math.cos(sides.angleRad), Math.sin(sides.angleRad)];
  const [x, y] = [fit.xMm - sides.xMm, fit.yMm - sides.yMm];
  return Math.min(
    sides.lengthMm / 2 - Math.abs(x * cos + y * sin),
    sides.widthMm / 2 - Math.abs(y * cos - x * sin),
  );
}
