import { medianOf } from "../../fit/index.js";
import type { FaceSampler } from "../face-sampler.js";
import type { PlateSignal } from "./plate-signal.js";

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

/**
 * Whether a hole lies in an oil sink, a hollow that slopes to it: against the face beyond, it is brighter on one side of
 * the hole than on the other. The hole's edge then lies deeper than the face, and has a bevel of its own or none.
 *
 * @param xMm, yMm middle of the hole, local coordinates of the sampler.
 */
export function isInSink(
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
