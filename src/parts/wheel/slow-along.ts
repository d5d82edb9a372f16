import { fitHarmonics, robustScale, type HarmonicsFit } from "../../fit/index.js";

export interface SlowAlong extends HarmonicsFit {
  /** Of every tooth, those left aside too; NaN where nothing was read. */
  readonly residual: Float64Array;
  readonly scatter: number;
}

/** Scatters from the slow form beyond which a tooth has no say in it. */
const leftAsideBeyond = 4;

/**
 * What was read tooth by tooth round a rim, as a mean and two slow orders: eccentricity, oval, and light that changes
 * from side to side. Outliers are left aside in rounds.
 *
 * @param value one a tooth, NaN where nothing was read.
 * @returns undefined where too few teeth were read.
 */
export function slowAlong(angle: Float64Array, value: Float64Array): SlowAlong | undefined {
  const good = [...value.keys()].filter((k) => !Number.isNaN(value[k]!));
  const orders = good.length >= 12 ? [1, 2] : [1];
  const least = 2 * orders.length + 2;
  let chosen = good;
  for (let round = 0; chosen.length >= least; round++) {
    const fit = fitHarmonics(
      Float64Array.from(chosen, (k) => angle[k]!),
      Float64Array.from(chosen, (k) => value[k]!),
      orders,
    );
    if (!fit.ok) return undefined;
    const { mean, harmonics } = fit.value;
    const residual = residualOf(angle, value, mean, harmonics);
    const scatter = robustScale(Float64Array.from(good, (k) => residual[k]!));
    const next = good.filter((k) => Math.abs(residual[k]!) < leftAsideBeyond * scatter + 1e-9);
    if (next.length === chosen.length || next.length < least || round === 6)
      return { ...fit.value, residual, scatter };
    chosen = next;
  }
  return undefined;
}

function residualOf(
  angle: Float64Array,
  value: Float64Array,
  mean: number,
  harmonics: HarmonicsFit["harmonics"],
): Float64Array {
  const residual = new Float64Array(value.length);
  for (let k = 0; k < residual.length; k++) {
    let left = value[k]! - mean;
    for (let i = 0; i < harmonics.length; i++) {
      const { order, cosine, sine } = harmonics[i]!;
      left = left - cosine * Math.cos(order * angle[k]!) - sine * Math.sin(order * angle[k]!);
    }
    residual[k] = left;
  }
  return residual;
}
