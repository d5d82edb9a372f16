import type { FaceSampler } from "../face-sampler.js";
import { topCode, type EdgeSampler } from "./edge-sampler.js";
import type { EdgeProfiles } from "./layered-edge.js";
import { unsharpen, type Sharpness } from "./learn-sharpness.js";
import type { FaceHere } from "./local-face.js";
import type { PlateFace } from "./plate-face.js";

/** What is seen along one ray, and where half height puts the edge. Lengths in samples of `stepMm`. */
export interface HoleRay {
  readonly angleRad: number;
  readonly profiles: EdgeProfiles;
  readonly start: number;
  /** Brightness and chroma of the face beyond. */
  readonly faceLevel: readonly [number, number];
  readonly byColour: boolean;
  readonly stepMm: number;
  /** Of the blur, and of what colour is blurred beyond that. */
  readonly sigma: number;
  readonly chromaSigma: number;
  /** Width of the wall as it is seen; 0 on the near side. */
  readonly wall: number;
}

const rays = 96;
const samplePx = 0.5;
/** What reading between pixels adds to the blur: variance of linear interpolation, averaged over all places. */
const betweenPixelsPx2 = 1 / 6;
/** Pixels from the rough edge to where the levels on both sides are read: past blur and bevel. */
const clearOutPx = 2.5;
const clearInPx = 1.7;
const widePx = 2.5;
/** Darker inside than this share of the face, brightness tells the edge. */
const isDark = 0.6;
const leastStep = 0.25;
/** Nobody looks further out, in samples beyond the edge and the wall. */
export const mostOutwards = 13;

/** Where half height puts the edge on one ray. */
export interface RayEdge {
  readonly angleRad: number;
  readonly radiusMm: number;
  readonly byColour: boolean;
  /** First sample of the face beyond, and the one after the last. */
  readonly out: readonly [number, number];
}

/**
 * Looks outwards from the middle of a hole to the face of its plate.
 *
 * @param reachMm how far; samples lie at half a pixel. @param faceToward the face round the hole, in a direction.
 */
export function findRayEdges(
  { sampler, pxMm, signal: { hasColour } }: PlateFace,
  xMm: number,
  yMm: number,
  reachMm: number,
  faceToward: (angleRad: number) => FaceHere,
): RayEdge[] {
  const step = samplePx * pxMm;
  const n = Math.ceil(reachMm / step);
  const line = new LineOut(sampler, n);
  const { light, colour } = line;
  const found: RayEdge[] = [];
  for (let i = 0; i < rays; i++) {
    const t = (2 * Math.PI * i) / rays;
    const isSeen = line.start(faceToward(t), xMm, yMm, step * Math.cos(t), step * Math.sin(t));
    const rough = isSeen ? (hasColour ? roughEdge(line) : roughGreyEdge(line)) : undefined;
    if (rough === undefined) continue;
    const out = [Math.ceil(rough + 2 * clearOutPx), Math.ceil(rough + 2 * (clearOutPx + widePx))] as const;
    const into = [
      Math.max(0, Math.floor(rough - 2 * (clearInPx + widePx))),
      Math.max(1, Math.floor(rough - 2 * clearInPx)),
    ] as const;
    if (out[1] > n) continue;
    line.readTo(out[1]);
    if (!hasColour) {
      const at = greyEdge(light, into, out);
      if (at !== undefined) found.push({ angleRad: t, radiusMm: at * step, byColour: false, out });
      continue;
    }
    const darkIn = mean(light, into) / mean(light, out);
    const byColour = !(darkIn < isDark);
    const profile = byColour ? colour : light;
    const [inside, outside] = [mean(profile, into), mean(profile, out)];
    if (!(outside - inside > leastStep)) continue;
    const at = riseThrough(profile, 0.5 * (inside + outside), Math.max(1, into[1] - 1), out[0]);
    if (at !== undefined) found.push({ angleRad: t, radiusMm: at * step, byColour, out });
  }
  return found;
}

/**
 * Reads across the edges that were found from the same middle, as far.
 *
 * @param wallMm how much of the wall is seen at an angle and radius.
 */
export function readHoleRays(
  { edges, sharpness, colourBlurPx, pxMm }: PlateFace,
  xMm: number,
  yMm: number,
  reachMm: number,
  found: readonly RayEdge[],
  wallMm: (angleRad: number, radiusMm: number) => number,
): HoleRay[] {
  const step = samplePx * pxMm;
  const n = Math.ceil(reachMm / step);
  const sigma = Math.sqrt(sharpness.blurPx ** 2 + betweenPixelsPx2) / samplePx;
  const chromaSigma = colourBlurPx / samplePx;
  return found.map(({ angleRad, radiusMm, byColour, out }) => {
    const at = radiusMm / step;
    const wall = wallMm(angleRad, radiusMm) / step;
    const profiles = profilesAlong(
      edges,
      sharpness,
      xMm,
      yMm,
      step * Math.cos(angleRad),
      step * Math.sin(angleRad),
      Math.min(n, Math.max(out[1], Math.ceil(at + wall + mostOutwards) + 1)),
      out,
      // A disc that is blurred looks narrower by sigma^2 / 2R, to first order; colour more so than brightness.
      sigma ** 2 / (2 * at),
      (sigma ** 2 + chromaSigma ** 2) / (2 * at),
    );
    const faceLevel = [mean(profiles.light, out), mean(profiles.chroma, out)] as const;
    return { angleRad, profiles, start: at, faceLevel, byColour, stepMm: step, sigma, chromaSigma, wall };
  });
}

function profilesAlong(
  edges: EdgeSampler,
  sharpness: Sharpness,
  xMm: number,
  yMm: number,
  dxMm: number,
  dyMm: number,
  length: number,
  face: readonly [number, number],
  lightShift: number,
  chromaShift: number,
): EdgeProfiles {
  const row = (): Float64Array => new Float64Array(length);
  const [light, chroma, chromaWithoutRed, gain, red, freeShare] = [row(), row(), row(), row(), row(), row()];
  for (let k = 0; k < length; k++) {
    edges.at(xMm + (k - lightShift) * dxMm, yMm + (k - lightShift) * dyMm);
    light[k] = edges.light;
    red[k] = edges.red;
    freeShare[k] = edges.freeShare;
    edges.at(xMm + (k - chromaShift) * dxMm, yMm + (k - chromaShift) * dyMm);
    chroma[k] = edges.chroma;
    chromaWithoutRed[k] = edges.chromaWithoutRed;
  }
  unsharpen(light, edges.white, sharpness, samplePx, freeShare);
  // Sharpening adds as much to each channel, which leaves differences alone; not so where one is cut off.
  if (mean(red, face) >= topCode) chroma.set(chromaWithoutRed);
  for (let k = 0; k < length; k++) gain[k] = edges.gainAt(light[k]!, chroma[k]!);
  return { light, chroma, gain, hasColour: edges.hasColour };
}

/** Both readings along one line, read no further than somebody looks. */
class LineOut {
  readonly light: Float64Array;
  readonly colour: Float64Array;
  readonly #sampler: FaceSampler;
  #here: FaceHere | undefined;
  #read = 0;
  #x = 0;
  #y = 0;
  #dx = 0;
  #dy = 0;

  constructor(sampler: FaceSampler, length: number) {
    this.#sampler = sampler;
    this.light = new Float64Array(length);
    this.colour = new Float64Array(length);
  }

  /** @returns false where the line leaves the picture. */
  start(here: FaceHere, xMm: number, yMm: number, dxMm: number, dyMm: number): boolean {
    [this.#x, this.#y, this.#dx, this.#dy] = [xMm, yMm, dxMm, dyMm];
    this.#read = 0;
    this.#here = here;
    const last = this.light.length - 1;
    return this.#sampler.at(xMm, yMm) && this.#sampler.at(xMm + last * dxMm, yMm + last * dyMm);
  }

  /** @returns false where the line ends before. */
  readTo(count: number): boolean {
    const { light, colour } = this;
    const here = this.#here!;
    const end = Math.min(count, light.length);
    for (let k = this.#read; k < end; k++) {
      this.#sampler.at(this.#x + k * this.#dx, this.#y + k * this.#dy);
      here.read(this.#sampler);
      light[k] = here.light;
      colour[k] = here.colour;
    }
    this.#read = Math.max(this.#read, end);
    return count <= light.length;
  }
}

/** Where face begins for good: both readings stay up for a few samples. */
function roughEdge(line: LineOut): number | undefined {
  const { light, colour } = line;
  const at = (k: number): number => Math.min(light[k]!, colour[k]!);
  let up = 0;
  for (let k = 1; line.readTo(k + 1); k++) {
    if (at(k) > 0.5) up++;
    else up = 0;
    if (up === 6) {
      const first = k - 5;
      if (first < 1) return undefined;
      const before = at(first - 1);
      return first - 1 + (0.5 - before) / (at(first) - before);
    }
  }
  return undefined;
}

/** So unlike the light of a grey face is what is no face, logarithm: lines of a brushed one differ by half of it. */
const unlikeGrey = 0.25;
const leastGreyStep = 0.15;

/**
 * Where what is unlike a grey face begins, from outside inwards: what is seen in a hole goes from dark walls to the lit sheet,
 * and passes through the light of the face.
 */
function roughGreyEdge(line: LineOut): number | undefined {
  const { light } = line;
  line.readTo(light.length);
  let unlike = 0;
  for (let k = light.length - 1; k > 0; k--) {
    if (Math.abs(Math.log(light[k]!)) > unlikeGrey) unlike++;
    else unlike = 0;
    if (unlike === 3) return k + 2.5;
  }
  return undefined;
}

/** Half height, whichever side is the lighter one. */
function greyEdge(
  light: Float64Array,
  into: readonly [number, number],
  out: readonly [number, number],
): number | undefined {
  const [inside, outside] = [mean(light, into), mean(light, out)];
  if (!(Math.abs(Math.log(outside / inside)) > leastGreyStep)) return undefined;
  const profile = inside < outside ? light : light.map((v) => -v);
  const level = 0.5 * (inside + outside) * Math.sign(outside - inside);
  return riseThrough(profile, level, Math.max(1, into[1] - 1), out[0]);
}

function mean(values: Float64Array, [from, to]: readonly [number, number]): number {
  let sum = 0;
  for (let k = from; k < to; k++) sum += values[k]! / (to - from);
  return sum;
}

/** The last rise through a level between two samples. */
function riseThrough(values: Float64Array, level: number, from: number, to: number): number | undefined {
  for (let k = Math.min(to, values.length - 1); k >= from; k--) {
    const [before, now] = [values[k - 1]!, values[k]!];
    if (before < level && now >= level) return k - 1 + (level - before) / (now - before);
  }
  return undefined;
}
