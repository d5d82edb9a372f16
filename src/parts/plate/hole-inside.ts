import { medianOf } from "../../fit/index.js";
import type { Point } from "../part.js";
import type { CentredHole } from "./centre-hole.js";
import type { FaceLevel } from "./local-face.js";
import type { PlateFace } from "./plate-face.js";
import { isSlotted } from "./slotted-head.js";

/** What is seen within an edge that may be that of a hole. */
export interface HoleInside {
  /**
   * Its middle has the colour of the face round it, is whiter than paper, or has the slot of a screw: a stain, a mirrored
   * edge, a glint, a head.
   */
  readonly isMetal: boolean;
  /** It is much darker than the face, and its colour is not all the metal's: it may be a hole all the same. */
  readonly isTinted: boolean;
  /** Light in its middle, that of the face round it being 1. */
  readonly light: number;
  /** Metal all round, just within the edge: a bush let in, or the rim of a sink. */
  readonly isRingOfMetal: boolean;
  /** That ring is lighter than the middle all round: the bowl of a sink, whose hole is further in. Into a hole one looks somewhere. */
  readonly isBowl: boolean;
  /** Of that ring, the middle of the face of the plate being 1. */
  readonly ring: FaceLevel;
}

/** The face is read beyond blur and bevel, px and mm. */
const beyond = { fromPx: 2.5, toPx: 5, widerMm: 0.2 };
/** Share of the radius that is looked at: the wall comes into view at the side. */
const core = 0.6;
/** Least share of the radius that the wall leaves free, for what is beside it to be looked at alone. */
const leastFree = 0.4;
/** Wall and shaded sheet together are darker than this share of the face. */
const walledLight = 0.8;
/** A ring within the edge, px: blur of colour ends, and the narrowest wall of a bush. */
const within = { fromPx: 3, toPx: 5 };
/**
 * Colour for the light there is, over that of the face round it. Of 82 holes of rendered plates none showed more than
 * 0.23 where it was bright enough to tell, of 34 stains and mirrored edges none less than 0.46.
 */
const metalPurity = 0.35;
/** Without colour only what is as light as the face is taken for it, logarithm: a smudge, a mirrored edge. */
const asLightAsFace = 0.12;
/** Of blown metal: between paper, 0, and white, 1. */
const whiteShare = 0.3;
/** White at its top is paper only where the paper beside the plate is nearly as white: share of that. */
const overPaper = { byMiddle: 1.25, byOwnFace: 1.1 };
/** Darker than this share of the face, colour is noise, and polish seldom mirrors anything so dark. */
const blackLight = 0.12;
const ringBlackLight = 0.05;
/** Share of the face's light below which a place may lie deep in a hole; brass walls tint what is seen there so far. */
const deepLight = 0.32;
const tintPurity = 0.85;
/** Heads of screws are brighter than this share of the face. */
const leastOfHead = 0.15;
const sectors = 24;
const sectorsOfRing = 20;
const circles = 5;

/**
 * Looks at the face round an edge, and at what is within it.
 *
 * @param lowerShiftMm where the middle of the hole's lower edge is seen beside that of its upper one: the wall between
 *   the two is metal too.
 */
export function lookInside(
  { sampler, pxMm, signal: { hasColour } }: PlateFace,
  { xMm, yMm, shape: [x, y, radius], here, isByOwnFace }: CentredHole,
  lowerShiftMm: Point = [0, 0],
): HoleInside {
  /** Light and colour of each sector between two radii. */
  const read = (from: number, to: number, [dx, dy]: Point = [0, 0]): [number, number][] =>
    Array.from({ length: sectors }, (_, k) => {
      let [light, colour, n] = [0, 0, 0];
      for (let j = 0; j < 2 * circles; j++) {
        const t = (2 * Math.PI * (k + 0.25 + 0.5 * (j & 1))) / sectors;
        // Evenly over the area.
        const r = Math.sqrt(from ** 2 + ((to ** 2 - from ** 2) * ((j >> 1) + 0.5)) / circles);
        if (!sampler.at(xMm + x + dx + r * Math.cos(t), yMm + y + dy + r * Math.sin(t))) continue;
        here.read(sampler);
        light += here.light;
        colour += here.colour;
        n++;
      }
      return [light / Math.max(1, n), colour / Math.max(1, n)];
    });
  const median = (rows: readonly [number, number][], c: 0 | 1): number => medianOf(rows.map((row) => row[c]));
  const mean = (rows: readonly [number, number][], c: 0 | 1): number =>
    rows.reduce((sum, row) => sum + row[c] / rows.length, 0);
  const face = read(radius + beyond.fromPx * pxMm, radius + beyond.toPx * pxMm + beyond.widerMm);
  const [faceLight, hue] = [median(face, 0), median(face, 1) / median(face, 0)];
  const whole = read(0, core * radius);
  const free = radius - Math.hypot(...lowerShiftMm) / 2;
  // Glare is as bright on one side as on the other.
  const isWalled = free > leastFree * radius && mean(whole, 0) < walledLight * faceLight;
  const middle = isWalled ? read(0, core * free, [lowerShiftMm[0] / 2, lowerShiftMm[1] / 2]) : whole;
  const isMetalThere = (light: number, colour: number, black: number): boolean =>
    !hasColour
      ? Math.abs(Math.log(light / faceLight)) < asLightAsFace
      : here.isBlown
        ? light > whiteShare
        : light > black * faceLight && colour > metalPurity * hue * light;
  const [outer, inner] = [radius - within.fromPx * pxMm, radius - within.toPx * pxMm];
  const ring = inner > 0 ? read(inner, outer) : [];
  const ofMetal = ring.filter(([light, colour]) => isMetalThere(light, colour, ringBlackLight));
  const light = mean(middle, 0);
  const hasSlot = (): boolean =>
    isSlotted(radius, leastOfHead * faceLight, (u, v) => {
      if (!sampler.at(xMm + x + u, yMm + y + v)) return undefined;
      here.read(sampler);
      return here.light;
    });
  const most = here.paperLight * (isByOwnFace ? overPaper.byOwnFace : overPaper.byMiddle);
  const isGlint = !here.isBlown && light > Math.max(most, here.topLight);
  const isOther = isGlint || hasSlot();
  return {
    isMetal: isOther || isMetalThere(light, mean(middle, 1), blackLight),
    isTinted:
      !isOther &&
      hasColour &&
      !here.isBlown &&
      light < deepLight * faceLight &&
      mean(middle, 1) < tintPurity * hue * light,
    light: light / faceLight,
    isRingOfMetal: ofMetal.length >= sectorsOfRing,
    isBowl: ofMetal.length >= sectorsOfRing && Math.min(...ring.map((row) => row[0])) > light,
    ring:
      ring.length === 0
        ? here.level
        : { light: median(ring, 0) * here.level.light, colour: median(ring, 1) * here.level.colour },
  };
}
