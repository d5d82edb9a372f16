import { fitHarmonics, robustScale } from "../../fit/index.js";
import type { ToothState } from "../part.js";
import type { ThickOutline } from "../thick-outline.js";
import type { ToothPlaces } from "./tooth-places.js";

/** Position and form of the tooth circle, from the tips (radial) and from the pitch (tangential), about the face centre. */
export interface ToothCircle {
  readonly states: readonly ToothState[];
  /** Offset of the centre from that of the face, mm, by the radii of the tips and by the spacing of the teeth. */
  readonly radialMm: readonly [number, number];
  readonly tangentialMm: readonly [number, number];
  readonly uRadialMm: number;
  readonly uTangentialMm: number;
  /** Both together, weighted. */
  readonly centreMm: readonly [number, number];
  readonly uCentreMm: number;
  /** Radius of the tip mark about that centre: deviation of each tooth, mm; NaN where there is none. */
  readonly tipDeviationMm: Float64Array;
  /** Index deviation of each tooth about that centre, mm along the pitch circle; NaN where there is none. */
  readonly indexDeviationMm: Float64Array;
  /** Second and third harmonic of the tip radius: cosine, sine, mm. */
  readonly ovalMm: readonly [number, number];
  readonly threeLobeMm: readonly [number, number];
  /** Higher slow form (orders 4 and 5), mm. */
  readonly slowFormMm: readonly { readonly order: number; readonly cosine: number; readonly sine: number }[];
  /** Scatter of single teeth, mm. */
  readonly tipScatterMm: number;
  readonly indexScatterMm: number;
  /** How far each place's outline is seen outside the mean tip circle: to line the places up. */
  readonly radialShiftMm: Float64Array;
  readonly bent: readonly { readonly place: number; readonly offsetMm: number }[];
  readonly usedTeeth: number;
}

const missingBody = 0.35;
const shortBody = 0.72;
const shortDepthShare = 0.22;
const bentLeast = 0.07;

export function fitToothCircle(
  places: ToothPlaces,
  thick: ThickOutline,
  pxMm: number,
): ToothCircle | undefined {
  const n = places.count;
  const depth = places.tipMm - places.rootMm;
  const arcMm = places.pitchRad * places.tipMm;
  const pitchRadius = places.rootMm + 0.5 * depth;

  const tip = new Float64Array(n);
  const index = new Float64Array(n);
  const radialShiftMm = new Float64Array(n);
  const states: ToothState[] = [];
  for (let k = 0; k < n; k++) {
    const t = places.angleRad[k]!;
    radialShiftMm[k] = thick.rimExcessMm(t, places.tipMm);
    tip[k] = places.tipMarkMm[k]! - radialShiftMm[k]!;
    index[k] = places.offset[k]! * places.pitchRad * pitchRadius - thick.middleShiftMm(t);
    states.push(
      !places.seen[k] ? "unseen" : places.body[k]! < missingBody * places.typicalBody ? "missing" : "whole",
    );
  }
  for (let k = 0; k < n; k++) {
    if (states[k] !== "whole") tip[k] = index[k] = NaN;
    else if (places.body[k]! < shortBody * places.typicalBody) states[k] = "short";
  }

  const slow = slowForm(places.angleRad, tip, states);
  if (slow === undefined) return undefined;
  for (let k = 0; k < n; k++) {
    if (states[k] === "whole" && slow.residual[k]! < -shortDepthShare * depth) states[k] = "short";
  }
  const pitch = pitchForm(places, index, states);
  if (pitch === undefined) return undefined;
  const bent: { place: number; offsetMm: number }[] = [];
  for (let k = 0; k < n; k++) {
    if (states[k] !== "whole") continue;
    const pitches = pitch.residual[k]! / (places.pitchRad * pitchRadius);
    const outer = places.offsetOuter[k]! - places.offsetInner[k]!;
    // A bent tooth leans: its outer half is off by more than its inner half.
    const leans = Math.abs(outer - pitch.lean) > Math.max(0.06, 4 * pitch.leanScatter);
    if (
      Math.abs(pitches) > Math.max(bentLeast, (5 * pitch.scatter) / (places.pitchRad * pitchRadius)) &&
      leans
    ) {
      states[k] = "bent";
      bent.push({ place: k, offsetMm: (places.offsetOuter[k]! - (places.offset[k]! - pitches)) * arcMm });
    }
  }
  const form = slowForm(places.angleRad, tip, states);
  const fine = pitchForm(places, index, states);
  if (form === undefined || fine === undefined) return undefined;

  const used = states.filter((s) => s === "whole").length;
  // Neighbouring teeth share what light and lens do to them: never better than a small part of a pixel.
  const floor = 0.03 * pxMm;
  const uRadialMm = Math.hypot(form.scatter * Math.sqrt(2 / used), floor);
  const uTangentialMm = Math.hypot(fine.scatter * Math.sqrt(2 / used), floor);
  const radialMm = form.first;
  const tangentialMm = fine.first;
  const wr = 1 / uRadialMm ** 2;
  const wt = 1 / uTangentialMm ** 2;
  const centreMm = [0, 1].map((i) => (wr * radialMm[i]! + wt * tangentialMm[i]!) / (wr + wt)) as [
    number,
    number,
  ];

  const tipDeviationMm = new Float64Array(n).fill(NaN);
  const indexDeviationMm = new Float64Array(n).fill(NaN);
  for (let k = 0; k < n; k++) {
    const t = places.angleRad[k]!;
    if (!Number.isNaN(tip[k]!))
      tipDeviationMm[k] = tip[k]! - form.mean - centreMm[0] * Math.cos(t) - centreMm[1] * Math.sin(t);
    if (!Number.isNaN(index[k]!))
      indexDeviationMm[k] = index[k]! - fine.mean + centreMm[0] * Math.sin(t) - centreMm[1] * Math.cos(t);
    radialShiftMm[k]! += form.at(t) - form.mean;
  }
  return {
    states,
    radialMm,
    tangentialMm,
    uRadialMm,
    uTangentialMm,
    centreMm,
    uCentreMm: Math.max(1 / Math.sqrt(wr + wt), floor),
    tipDeviationMm,
    indexDeviationMm,
    ovalMm: form.second,
    threeLobeMm: form.third,
    slowFormMm: form.higher,
    tipScatterMm: form.scatter,
    indexScatterMm: fine.scatter,
    radialShiftMm,
    bent,
    usedTeeth: used,
  };
}

interface SlowForm {
  readonly mean: number;
  readonly first: [number, number];
  readonly second: [number, number];
  readonly third: [number, number];
  readonly higher: readonly { readonly order: number; readonly cosine: number; readonly sine: number }[];
  readonly residual: Float64Array;
  readonly scatter: number;
  at(angleRad: number): number;
}

/** Tip radius against angle: mean and the first orders, outliers left aside in rounds. */
function slowForm(
  angle: Float64Array,
  tip: Float64Array,
  states: readonly ToothState[],
): SlowForm | undefined {
  const n = tip.length;
  const good = [...tip.keys()].filter((k) => states[k] === "whole" && !Number.isNaN(tip[k]!));
  const orders =
    good.length >= 24 ? [1, 2, 3, 4, 5] : good.length >= 12 ? [1, 2, 3] : good.length >= 7 ? [1, 2] : [1];
  if (good.length < 2 * orders.length + 2) return undefined;
  let chosen = good;
  for (let round = 0; ; round++) {
    const a = Float64Array.from(chosen, (k) => angle[k]!);
    const fit = fitHarmonics(
      a,
      Float64Array.from(chosen, (k) => tip[k]!),
      orders,
    );
    if (!fit.ok) return undefined;
    const { mean, harmonics } = fit.value;
    const at = (t: number): number =>
      harmonics.reduce((s, h) => s + h.cosine * Math.cos(h.order * t) + h.sine * Math.sin(h.order * t), mean);
    const residual = Float64Array.from({ length: n }, (_, k) => tip[k]! - at(angle[k]!));
    const scatter = robustScale(Float64Array.from(good, (k) => residual[k]!));
    const next = good.filter((k) => Math.abs(residual[k]!) < 4 * scatter + 1e-9);
    const settled = next.length === chosen.length || next.length < 2 * orders.length + 2;
    if (settled || round === 6) {
      const of = (order: number): [number, number] => {
        const h = harmonics.find((x) => x.order === order);
        return h === undefined ? [0, 0] : [h.cosine, h.sine];
      };
      return {
        mean,
        first: of(1),
        second: of(2),
        third: of(3),
        higher: harmonics.filter((h) => h.order > 3),
        residual,
        scatter,
        at,
      };
    }
    chosen = next;
  }
}

interface PitchForm {
  readonly mean: number;
  readonly first: [number, number];
  readonly residual: Float64Array;
  readonly scatter: number;
  readonly lean: number;
  readonly leanScatter: number;
}

/** Index against angle: a circle off centre by (x, y) moves a tooth at t along its arc by -x sin t + y cos t. */
function pitchForm(
  places: ToothPlaces,
  index: Float64Array,
  states: readonly ToothState[],
): PitchForm | undefined {
  const n = index.length;
  const good = [...index.keys()].filter((k) => states[k] === "whole" && !Number.isNaN(index[k]!));
  const orders = good.length >= 12 ? [1, 2] : [1];
  if (good.length < 2 * orders.length + 2) return undefined;
  let chosen = good;
  for (let round = 0; ; round++) {
    const a = Float64Array.from(chosen, (k) => places.angleRad[k]!);
    const fit = fitHarmonics(
      a,
      Float64Array.from(chosen, (k) => index[k]!),
      orders,
    );
    if (!fit.ok) return undefined;
    const { mean, harmonics } = fit.value;
    const residual = Float64Array.from({ length: n }, (_, k) => {
      const t = places.angleRad[k]!;
      return harmonics.reduce(
        (s, h) => s - h.cosine * Math.cos(h.order * t) - h.sine * Math.sin(h.order * t),
        index[k]! - mean,
      );
    });
    const scatter = robustScale(Float64Array.from(good, (k) => residual[k]!));
    const next = good.filter((k) => Math.abs(residual[k]!) < 4 * scatter + 1e-9);
    if (next.length === chosen.length || next.length < 2 * orders.length + 2 || round === 6) {
      const leans = Float64Array.from(good, (k) => places.offsetOuter[k]! - places.offsetInner[k]!).filter(
        (l) => !Number.isNaN(l),
      );
      const lean = leans.slice().sort()[leans.length >> 1] ?? 0;
      return {
        mean,
        first: [-harmonics[0]!.sine, harmonics[0]!.cosine],
        residual,
        scatter,
        lean,
        leanScatter: leans.length > 2 ? robustScale(leans) : 0.1,
      };
    }
    chosen = next;
  }
}
