import { medianOf } from "../../fit/index.js";
import { placeInTurn } from "../../geometry/index.js";
import type { FaceSampler } from "../face-sampler.js";
import type { Point } from "../part.js";
import { findBush } from "./find-bush.js";
import { FaceHere } from "./local-face.js";
import type { PlateFace } from "./plate-face.js";
import type { PlateSignal } from "./plate-signal.js";
import { findSinkRim, type SinkRim } from "./sink-rim.js";

/** An oil sink: a hollow whose slope ends at the edge of the hole. */
export interface Sink {
  readonly rim?: SinkRim;
  /** Of the edge of the hole below the face, mm, and its standard uncertainty. */
  readonly depthMm: number;
  readonly uDepthMm: number;
  /** What the slope looks like in a direction from the middle of the hole, as the face of its edge. */
  readonly slopeToward: (angleRad: number) => FaceHere;
}

/** A hole lies surely deeper than a bush's, mm, by so many standard uncertainties. */
const deeperMm = 0.25;
const surely = 2;
/** The slope is read beyond the hole's blur and within that of the rim, px, where no rim was seen in a ring, mm. */
const [beyondHolePx, withinRimPx] = [2, 1.5];
const slopes = 24;
const perSlope = 5;
const darkestSlope = 0.25;
/** The wall may reach into what is read of the slope, and is darker: quantile. */
const ofSlope = 0.75;

/**
 * The sink that a hole lies in, by its rim or by its slope; undefined where it lies in the plain face or in a bush.
 *
 * @param hole middle and radius as they are seen, local coordinates, mm. @param here the face round the sink.
 * @param leanMm where a point 1 mm deeper is seen beside itself, mm.
 */
export function findSink(
  plate: Pick<PlateFace, "sampler" | "signal" | "pxMm">,
  { xMm, yMm, radiusMm }: { readonly xMm: number; readonly yMm: number; readonly radiusMm: number },
  here: FaceHere,
  leanMm: Point,
): Sink | undefined {
  const { sampler, signal, pxMm } = plate;
  const rim = findSinkRim(plate, xMm, yMm, radiusMm, leanMm);
  const isSloping = slopesToHole(sampler, signal, xMm, yMm, radiusMm);
  if (rim === undefined && !isSloping) return undefined;
  const isDeep =
    rim !== undefined && (rim.depthMm - deeperMm) * Math.hypot(...leanMm) > surely * rim.uCentreMm;
  const mayBeBush = !isDeep && findBush(sampler, signal, xMm, yMm, radiusMm, pxMm) !== undefined;
  if (mayBeBush && !isSloping) return undefined;
  const facing = Array.from({ length: slopes }, (_, k) => {
    const [light, colour]: [number[], number[]] = [[], []];
    for (let i = 0; i < perSlope; i++) {
      const t = (2 * Math.PI * (k + (i + 0.5) / perSlope - 0.5)) / slopes;
      const rimAt = rim && rim.radiusMm - rim.depthMm * (leanMm[0] * Math.cos(t) + leanMm[1] * Math.sin(t));
      const from = radiusMm + Math.min(beyondHolePx * pxMm, near.from);
      const to = Math.max(from, rimAt === undefined ? radiusMm + near.to : rimAt - withinRimPx * pxMm);
      for (let j = 0; j < perSlope; j++) {
        const r = from + ((to - from) * (j + 0.5)) / perSlope;
        if (!sampler.at(xMm + r * Math.cos(t), yMm + r * Math.sin(t))) continue;
        here.read(sampler);
        light.push(here.light);
        colour.push(here.colour);
      }
    }
    const level = (values: number[], of: number): number => {
      const value = values.sort((a, b) => a - b)[Math.floor(ofSlope * values.length)];
      return of * Math.max(darkestSlope, value ?? 1);
    };
    return new FaceHere(signal, {
      light: level(light, here.level.light),
      colour: level(colour, here.level.colour),
    });
  });
  const slopeToward = (t: number): FaceHere =>
    facing[placeInTurn(Math.round((t * slopes) / (2 * Math.PI)), slopes)]!;
  const isSure = rim !== undefined && (isSloping || isDeep) && !mayBeBush;
  const usual = isSure ? usualDepth : unsureDepth;
  return { ...depthOf(usual, rim, Math.hypot(...leanMm)), slopeToward, ...(rim && { rim }) };
}

/** Rings that are compared, mm beyond the hole: beyond its bevel, where a sink slopes, and beyond most sinks. */
const near = { from: 0.3, to: 0.55 };
const far = { from: 1.4, to: 1.9 };
const sectors = 24;
const perSide = 6;
const darkest = 0.05;
/**
 * Amplitude of the first wave of the near ring's light over the far one's, and over what is left beside that wave. Of 14
 * sinks of drawn plates 13 have 0.09 or more, 2.2 times what is left; stains and neighbours leave as much as they make.
 */
const leastSlope = 0.085;
const overRest = 2.1;

/** How deep the edge of a hole lies in its sink (common practice, no source), mm. */
const usualDepth = { value: 0.7, u: 0.35 };
/** ... where only its light or only its rim speaks for a sink, which may be none. */
const unsureDepth = { value: 0.1, u: 0.4 };
/** Sinks are cut about their hole, and a hole wears to one side: of the middle of the rim, mm. */
const uAboutHoleMm = 0.07;

/** Seen from straight above, a rim tells nothing of the depth. */
function depthOf(
  usual: typeof usualDepth,
  rim: SinkRim | undefined,
  lean: number,
): Pick<Sink, "depthMm" | "uDepthMm"> {
  const wUsual = 1 / usual.u ** 2;
  const wRim = rim === undefined ? 0 : (lean / Math.hypot(rim.uCentreMm, uAboutHoleMm)) ** 2;
  const depthMm = (wUsual * usual.value + wRim * (rim?.depthMm ?? 0)) / (wUsual + wRim);
  return { depthMm, uDepthMm: 1 / Math.sqrt(wUsual + wRim) };
}

/** Whether the face slopes to a hole: against the face beyond, it is brighter on one side of the hole than on the other. */
function slopesToHole(
  sampler: FaceSampler,
  signal: PlateSignal,
  xMm: number,
  yMm: number,
  holeRadiusMm: number,
): boolean {
  const lightOf = (sector: number, ring: typeof near): number | undefined => {
    const light: number[] = [];
    for (let i = 0; i < perSide; i++)
      for (let j = 0; j < perSide; j++) {
        const t = (2 * Math.PI * (sector + (i + 0.5) / perSide)) / sectors;
        const r = holeRadiusMm + ring.from + ((ring.to - ring.from) * (j + 0.5)) / perSide;
        if (sampler.at(xMm + r * Math.cos(t), yMm + r * Math.sin(t))) light.push(signal.light(sampler));
      }
    return light.length === 0 ? undefined : medianOf(light);
  };
  const ratios: number[] = [];
  for (let k = 0; k < sectors; k++) {
    const [inner, outer] = [lightOf(k, near), lightOf(k, far)];
    if (inner === undefined || outer === undefined) return false;
    ratios.push(inner / Math.max(darkest, outer));
  }
  const wave = (k: number): readonly [number, number] => {
    const t = (2 * Math.PI * (k + 0.5)) / sectors;
    return [Math.cos(t), Math.sin(t)];
  };
  const mean = ratios.reduce((sum, v) => sum + v / sectors, 0);
  const [c, s] = ([0, 1] as const).map((i) =>
    ratios.reduce((sum, v, k) => sum + (2 * v * wave(k)[i]) / sectors, 0),
  ) as [number, number];
  const rest = ratios.reduce((sum, v, k) => {
    const [cos, sin] = wave(k);
    return sum + (v - mean - c * cos - s * sin) ** 2 / sectors;
  }, 0);
  const slope = Math.hypot(c, s);
  return slope > leastSlope && slope > overRest * Math.sqrt(rest);
}
