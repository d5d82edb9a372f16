import { medianOf, normalDistribution } from "../../fit/index.js";
import type { FaceHeight } from "../face-height.js";
import type { Point } from "../part.js";
import { ThickOutline } from "../thick-outline.js";
import { centreHole, type CentredHole } from "./centre-hole.js";
import { findHoles, type HoleGuess } from "./find-holes.js";
import { holeInSink } from "./hole-in-sink.js";
import { lookInside, type HoleInside } from "./hole-inside.js";
import { FaceHere, LocalFace, type FaceLevel } from "./local-face.js";
import { hasInnerEdge } from "./inner-edge.js";
import type { PlateFace } from "./plate-face.js";
import { tellPost } from "./post-end.js";

/** Rays that lie on the fit, for a hole to be round. */
export const roundSupport = 0.6;
/** Longest less shortest diameter, over the diameter: no wear leaves a hole longer (common practice, no source). */
const mostOval = 0.3;
/** ... and a small one by so much, where all of its edge is seen; its wall, if it is lit, makes it look longer; mm. */
const mostOvalMm = 0.5;
const clearSupport = 0.9;
/** Stains and mirrored edges of the room are small patches of any shape; openings that are not round are wider, mm. */
const openingMm = 4;
/** Between two metals an edge is seen less well. */
const bushSupport = 0.4;
/** Least wall of a bush (common practice, no source), mm, and how far its hole may be off its middle. */
const leastWallMm = 0.4;
const mostOffMm = 0.4;
/** Where the hole of a bush is begun to be looked for, share of the bush's radius. */
const innerReach = 0.6;
/** Nearer than this two finds are the same hole, mm. */
const sameMm = 0.4;
/** Share of the face's light or colour below which a place is no face. */
const isFace = 0.5;
/** Without colour, what is so much darker or lighter is no face, logarithm. */
const unlikeGrey = 0.35;
/** Darker than this share of the face round it no colour is told. */
const isDark = 0.3;

const isRound = (
  { support, shape: [, , r, c, s] }: Pick<CentredHole, "support" | "shape">,
  leastSupport = roundSupport,
): boolean =>
  support > leastSupport &&
  4 * Math.hypot(c, s) < Math.max(mostOval * 2 * r, support > clearSupport ? mostOvalMm : 0);

/** What is so much darker than the slope round it is a hole, though all that is seen in it is its wall. */
const deepLight = 0.5;

/** A cut edge is as sharp as the lens allows, all round; stains end softly, and are seldom round. */
const cutSupport = 0.85;
const sharpShare = 0.75;
const besideEdge = 3;

/** Whether an edge is that of a hole, whatever the colour of its dark inside: round, and sharp. */
function isCut({ rays, support, shape }: CentredHole): boolean {
  if (support < cutSupport || !isRound({ support, shape })) return false;
  const sharp = rays.filter(({ profiles: { light }, start, sigma, faceLevel, wall }) => {
    const at = Math.round(start);
    const [inner, outer] = [light[at - besideEdge] ?? NaN, light[at + besideEdge] ?? NaN];
    const least = Math.min(...light.subarray(Math.max(0, at - besideEdge - 8), at));
    const asBlurred = 2 * normalDistribution(besideEdge / sigma) - 1;
    return wall > 0 || outer - inner > sharpShare * asBlurred * (faceLevel[0] - least);
  });
  return sharp.length > cutSupport * rays.length;
}

/** Something round in a plate that is no hole, or may be none: local coordinates, mm. */
export interface NoHole {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  /** The end of a post, for sure; else it may be a hole all the same. */
  readonly isPost: boolean;
}

/** What was found within the edges of a plate. */
export interface WithinPlate {
  readonly holes: readonly CentredHole[];
  readonly noHoles: readonly NoHole[];
}

/**
 * Holes of a plate: the sheet or darkness is seen through them. They are looked for against the middle of the plate, and
 * where that shows none, against the face of their own part of it. Polished metal mirrors dark things too, but keeps its
 * colour; where a bush is darker than the plate round it, the hole is the inner of two edges. Ends of steel posts are as grey as
 * shaded paper: they are told apart by walls (`post-end.ts`).
 *
 * @param outline of the plate, roughly, local coordinates, mm. @param leastMm smallest diameter.
 */
export function findOpenHoles(
  plate: PlateFace,
  outline: readonly Point[],
  height: FaceHeight,
  leastMm: number,
): WithinPlate {
  const { sampler, signal, pxMm } = plate;
  const stepMm = Math.max(0.12, 1.2 * pxMm);
  const inside = (hole: CentredHole): HoleInside => {
    const [x, y] = middleOf(hole);
    const upper = { ...plate.face, xMm: plate.face.xMm + x, yMm: plate.face.yMm + y };
    return lookInside(plate, hole, new ThickOutline(upper, height.edgesApartMm).lowerShiftMm);
  };
  const isOpen = (hole: CentredHole): boolean => {
    const { isMetal, isRingOfMetal } = inside(hole);
    return !isMetal && !isRingOfMetal && 2 * hole.shape[2] >= leastMm;
  };
  /** A hole though its dark inside has a tint of the metal; else the bowl of a sink, or nothing. */
  const tinted = (hole: CentredHole): CentredHole | "bowl" | undefined => {
    const { isTinted, isBowl } = inside(hole);
    if (!isTinted || !isCut(hole)) return undefined;
    return isBowl ? "bowl" : { ...hole, isTinted: true };
  };
  const isSunk = (hole: CentredHole): boolean =>
    isRound(hole) &&
    (isOpen(hole) || (hole.sink?.rim !== undefined && inside(hole).light < deepLight && isCut(hole)));
  const found: CentredHole[] = [];
  const noHoles: NoHole[] = [];
  const take = (guess: HoleGuess, here: FaceHere, isByOwnFace: boolean): void => {
    const hole = centreHole(guess, plate, height, here, isByOwnFace);
    // By half height a hole is never narrower than it is; specks are, and say nothing of bevels.
    if (hole === undefined || 2 * hole.shape[2] < leastMm) return;
    const open =
      holeInSink(hole, plate, height, isSunk) ??
      (isOpen(hole) ? hole : (withinBush(hole, plate, height, isOpen) ?? tinted(hole)));
    if (open === undefined) return;
    if (open === "bowl") {
      const [xMm, yMm] = middleOf(hole);
      noHoles.push({ xMm, yMm, radiusMm: hole.shape[2], isPost: false });
      return;
    }
    const mayBeAnyShape = signal.hasColour && !isByOwnFace && 2 * guess.reachMm > openingMm;
    if (!isRound(open) && !mayBeAnyShape) return;
    const [xMm, yMm] = middleOf(open);
    if (found.some((other) => apartMm(other, [xMm, yMm]) < sameMm)) return;
    const isDoubtful = !signal.hasColour && hasInnerEdge(plate, open);
    const what = isDoubtful ? "unclear" : tellPost(plate, open, height.edgesApartMm);
    if (what === "hole") found.push(open);
    else noHoles.push({ xMm, yMm, radiusMm: open.shape[2], isPost: what === "post" });
  };
  const middle = new FaceHere(signal);
  const byMiddle = findHoles(
    sampler,
    outline,
    stepMm,
    () =>
      signal.light(sampler) < isFace ||
      signal.colour(sampler) < isFace ||
      (!signal.hasColour && Math.abs(Math.log(signal.light(sampler))) > unlikeGrey),
  );
  const face = new LocalFace(sampler, signal, outline);
  let at = middle;
  let [cellX, cellY] = [NaN, NaN];
  const byOwnFace = findHoles(sampler, outline, stepMm, (x, y) => {
    const [cx, cy] = [Math.floor(x), Math.floor(y)];
    if (cx !== cellX || cy !== cellY) at = new FaceHere(signal, face.at(cx + 0.5, cy + 0.5));
    [cellX, cellY] = [cx, cy];
    at.read(sampler);
    if (!signal.hasColour) return Math.abs(Math.log(at.light)) > unlikeGrey;
    if (at.isBlown) return at.light < isFace;
    // Dark metal still has its colour.
    return at.light < isDark || at.colour < isFace * Math.min(1, at.light);
  });
  const isWide = (h: HoleGuess): boolean => 2 * h.reachMm >= 0.8 * leastMm;
  for (const guess of byMiddle.filter(isWide)) take(guess, middle, false);
  for (const guess of byOwnFace.filter(isWide)) {
    if (found.some((hole) => apartMm(hole, [guess.xMm, guess.yMm]) < hole.shape[2])) continue;
    if (noHoles.some((no) => Math.hypot(no.xMm - guess.xMm, no.yMm - guess.yMm) < no.radiusMm)) continue;
    const level = faceRound(plate, guess) ?? face.at(guess.xMm, guess.yMm);
    take(guess, new FaceHere(signal, level), true);
  }
  return { holes: found, noHoles };
}

/** Rings about a patch on which its own face is read, mm beyond its reach. */
const ringsMm = [0.5, 0.9, 1.3];
const perRing = 32;
const darkestFace = 0.1;

function faceRound({ sampler, signal }: PlateFace, { xMm, yMm, reachMm }: HoleGuess): FaceLevel | undefined {
  const [light, colour]: [number[], number[]] = [[], []];
  for (const ring of ringsMm)
    for (let i = 0; i < perRing; i++) {
      const t = (2 * Math.PI * i) / perRing;
      if (!sampler.at(xMm + (reachMm + ring) * Math.cos(t), yMm + (reachMm + ring) * Math.sin(t))) continue;
      light.push(signal.light(sampler));
      colour.push(signal.colour(sampler));
    }
  if (light.length < perRing) return undefined;
  return {
    light: Math.max(darkestFace, medianOf(light)),
    colour: Math.max(darkestFace, medianOf(colour)),
  };
}

function withinBush(
  bush: CentredHole,
  plate: PlateFace,
  height: FaceHeight,
  isOpen: (hole: CentredHole) => boolean,
): CentredHole | undefined {
  if (!isRound(bush, bushSupport)) return undefined;
  const radiusMm = bush.shape[2];
  const [xMm, yMm] = middleOf(bush);
  const { ring } = lookInside(plate, bush);
  const guess: HoleGuess = {
    xMm,
    yMm,
    areaMm2: Math.PI * (innerReach * radiusMm) ** 2,
    reachMm: innerReach * radiusMm,
  };
  const hole = centreHole(guess, plate, height, new FaceHere(plate.signal, ring), true);
  const isHole =
    hole !== undefined &&
    hole.shape[2] < radiusMm - leastWallMm &&
    apartMm(hole, [guess.xMm, guess.yMm]) < mostOffMm &&
    isRound(hole) &&
    isOpen(hole);
  return isHole ? { ...hole, bushRadiusMm: radiusMm } : undefined;
}

const middleOf = ({ xMm, yMm, shape: [x, y] }: CentredHole): Point => [xMm + x, yMm + y];

const apartMm = (hole: CentredHole, [x, y]: Point): number =>
  Math.hypot(middleOf(hole)[0] - x, middleOf(hole)[1] - y);
