import { robustScale, solveLinearLeastSquares } from "../../fit/index.js";
import type { ToothState } from "../part.js";
import type { ThickOutline } from "../thick-outline.js";
import { findBentTeeth } from "./bent-teeth.js";
import { findCutShortTeeth } from "./cut-short-teeth.js";
import { slowAlong } from "./slow-along.js";
import type { ToothPlaces } from "./tooth-places.js";
import { flankOfWall, usualWall, weighCentres, type WallShare } from "./weigh-centres.js";

/**
 * Position and form of the tooth circle, from the tips (radial) and from the pitch (tangential), about the face
 * centre.
 */
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
  /** How much of a wall that looks out passes for metal, and the covariance of either coordinate of the centre with it. */
  readonly wall: WallShare & { readonly withCentreMm: readonly [number, number] };
  /** What was taken off the spacing for walls under the flanks, as a share of them. */
  readonly flankWallShare: number;
  /** Radius of the tip mark about that centre: deviation of each tooth, mm; NaN where there is none. */
  readonly tipDeviationMm: Float64Array;
  /** Index deviation of each tooth about that centre, mm along the pitch circle; NaN where there is none. */
  readonly indexDeviationMm: Float64Array;
  /** Second and third harmonic of the tip radius: cosine, sine, mm. */
  readonly ovalMm: readonly [number, number];
  readonly threeLobeMm: readonly [number, number];
  /** Higher slow form (orders 4 and 5), mm. */
  readonly slowFormMm: readonly { readonly order: number; readonly cosine: number; readonly sine: number }[];
  /** Of a component of the second harmonic, the share of the wall being known as well as the fit of the tips says. */
  readonly uOvalMm: number;
  /** What both components owe, together, to not knowing that share as well: standard uncertainty, mm. */
  readonly ovalByWallMm: readonly [number, number];
  readonly tipScatterMm: number;
  readonly indexScatterMm: number;
  /** Tips and spacing give the same centre, as far as can be seen. */
  readonly centresAgree: boolean;
  /** How far each place's outline is seen outside the mean tip circle: to line the places up. */
  readonly radialShiftMm: Float64Array;
  readonly bent: readonly { readonly place: number; readonly offsetMm: number }[];
  readonly usedTeeth: number;
  /** Outer half of the teeth minus inner half, along the arc, in pitches: raked teeth lean, all the same way. */
  readonly lean: number;
}

/** Teeth of a train wheel stand straight up; those of escape and ratchet wheels lean. Pitches. */
const rakedLean = 0.02;
export const isRaked = ({ lean }: Pick<ToothCircle, "lean">): boolean => Math.abs(lean) > rakedLean;

const missingBody = 0.35;
const surelyShortBody = 0.5;
const shortBody = 0.72;
/** How much lower a tooth of this width must be to be called short: of the tooth depth. */
const shortDepthShare = 0.22;
const narrowDepthShare = 0.2;
/** ... and at least this, px. */
const leastShortPx = 1.8;
/**
 * Light that changes round the rim looks like form: the slow form is no better known than this. Found on round wheels
 * of two renderers; narrow raked teeth show more of it.
 */
const formFloorPx = { upright: 0.12, raked: 0.26 };
/** Light from one side shifts tips and flanks by different amounts; the two centres then differ by as much, px. */
export const lightGapPx = 0.25;
/** Light on tips and on flanks, each shared by all of them, px. */
const leastTipsPx = 0.12;
const leastSpacingPx = 0.08;

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
  const excess = new Float64Array(n);
  const states: ToothState[] = [];
  for (let k = 0; k < n; k++) {
    const t = places.angleRad[k]!;
    excess[k] = thick.rimExcessMm(t, places.tipMm);
    tip[k] = places.tipMarkMm[k]!;
    index[k] = places.offset[k]! * places.pitchRad * pitchRadius;
    states.push(
      !places.seen[k] ? "unseen" : places.body[k]! < missingBody * places.typicalBody ? "missing" : "whole",
    );
  }
  for (let k = 0; k < n; k++) {
    if (states[k] !== "whole") tip[k] = index[k] = NaN;
    else if (places.body[k]! < surelyShortBody * places.typicalBody) states[k] = "short";
  }

  const slow = slowForm(places.angleRad, tip, excess, states, 0.02 * pxMm);
  // Nobody's teeth stand so far off the middle of the rim: too few of them, all on one side, say nothing.
  if (slow === undefined || Math.hypot(...slow.first) > 0.25 * places.tipMm) return undefined;
  const flankWallShare = flankOfWall * slow.wall;
  for (let k = 0; k < n; k++) index[k]! -= flankWallShare * thick.middleShiftMm(places.angleRad[k]!);
  const pitch = pitchForm(places, index, states);
  if (pitch === undefined) return undefined;
  const short = isRaked(pitch)
    ? findCutShortTeeth(places, states)
    : shorterThanForm(places, tip, slow.residual, states, pxMm);
  for (const k of short) states[k] = "short";
  const bent = findBentTeeth(places, states, pxMm).map(({ place, offsetPitches }) => {
    states[place] = "bent";
    return { place, offsetMm: offsetPitches * arcMm };
  });
  const form = slowForm(places.angleRad, tip, excess, states, 0.02 * pxMm);
  const fine = pitchForm(places, index, states);
  if (form === undefined || fine === undefined) return undefined;

  const used = states.filter((s) => s === "whole").length;
  // Neighbouring teeth share what light and lens do to them: never better than a small part of a pixel.
  // Where teeth are seen on one side only, what light does there passes for an offset, and the more so the fewer they are.
  const uRadialMm = Math.hypot(form.uFirst, fine.oneSided * leastTipsPx * pxMm);
  const uTangentialMm = fine.oneSided * Math.hypot(fine.scatter * Math.sqrt(2 / used), leastSpacingPx * pxMm);
  const centre = weighCentres(
    { mm: form.first, perShareMm: form.firstPerWall, uMm: uRadialMm },
    {
      mm: fine.first,
      // With a larger share more is taken off the spacing.
      perShareMm: [-flankOfWall * thick.middleShiftMm(-Math.PI / 2), -flankOfWall * thick.middleShiftMm(0)],
      uMm: uTangentialMm,
    },
    { share: slow.wall, u: form.uWall },
  );
  const { mm: centreMm, tipsMm: radialMm, spacingMm: tangentialMm } = centre;
  const gapMm = Math.hypot(radialMm[0] - tangentialMm[0], radialMm[1] - tangentialMm[1]);
  const uGapMm = Math.hypot(uRadialMm, uTangentialMm);
  // Two ways that differ by more than they should are each worth less (Birge 1932).
  const birge = Math.max(1, gapMm / (Math.SQRT2 * uGapMm));
  const centresAgree = gapMm < 3 * Math.hypot(uGapMm, lightGapPx * pxMm);

  const tipDeviationMm = new Float64Array(n).fill(NaN);
  const indexDeviationMm = new Float64Array(n).fill(NaN);
  for (let k = 0; k < n; k++) {
    const t = places.angleRad[k]!;
    if (!Number.isNaN(tip[k]!))
      tipDeviationMm[k] =
        tip[k]! - form.wall * excess[k]! - form.mean - centreMm[0] * Math.cos(t) - centreMm[1] * Math.sin(t);
    if (!Number.isNaN(index[k]!))
      indexDeviationMm[k] = index[k]! - fine.mean + centreMm[0] * Math.sin(t) - centreMm[1] * Math.cos(t);
    radialShiftMm[k] = form.wall * excess[k]! + form.at(t) - form.mean;
  }
  return {
    states,
    radialMm,
    tangentialMm,
    uRadialMm,
    uTangentialMm,
    centreMm,
    // Where they disagree, the model is wrong, and either may be right.
    uCentreMm: Math.max(birge * centre.uMm, leastSpacingPx * pxMm, centresAgree ? 0 : 0.5 * gapMm),
    wall: { ...centre.wall, withCentreMm: centre.withShareMm },
    flankWallShare,
    centresAgree,
    tipDeviationMm,
    indexDeviationMm,
    ovalMm: form.second,
    threeLobeMm: form.third,
    slowFormMm: form.higher,
    uOvalMm: Math.hypot(form.uSecond, formFloorPx[isRaked(fine) ? "raked" : "upright"] * pxMm),
    ovalByWallMm: form.secondByWall,
    tipScatterMm: form.scatter,
    indexScatterMm: fine.scatter,
    radialShiftMm,
    bent,
    usedTeeth: used,
    lean: fine.lean,
  };
}

/** Upright teeth that end well inside the slow form of the tips. */
function shorterThanForm(
  places: ToothPlaces,
  tip: Float64Array,
  residual: Float64Array,
  states: readonly ToothState[],
  pxMm: number,
): number[] {
  const depth = places.tipMm - places.rootMm;
  return [...tip.keys()].filter((k) => {
    if (states[k] !== "whole") return false;
    // Dirt or glare narrows a tooth that is as long as the others.
    const narrow = places.body[k]! < shortBody * places.typicalBody;
    const least = Math.max((narrow ? narrowDepthShare : shortDepthShare) * depth, leastShortPx * pxMm);
    return -residual[k]! > least || (narrow && Number.isNaN(tip[k]!));
  });
}

interface SlowForm {
  readonly mean: number;
  /** Share of the excess of the lower edge that was taken for metal. */
  readonly wall: number;
  readonly uWall: number;
  /** Of a component of the first order, the wall being known; and how far it moves with all of the wall. */
  readonly uFirst: number;
  readonly firstPerWall: [number, number];
  readonly uSecond: number;
  readonly secondByWall: [number, number];
  readonly first: [number, number];
  readonly second: [number, number];
  readonly third: [number, number];
  readonly higher: readonly { readonly order: number; readonly cosine: number; readonly sine: number }[];
  readonly residual: Float64Array;
  readonly scatter: number;
  at(angleRad: number): number;
}

/**
 * Tip radius against angle: mean, the first orders, and the wall that looks out from under the rim on one side, by as
 * much of it as was taken for metal. Outliers are left aside in rounds.
 */
function slowForm(
  angle: Float64Array,
  tip: Float64Array,
  excess: Float64Array,
  states: readonly ToothState[],
  negligibleMm: number,
): SlowForm | undefined {
  const n = tip.length;
  const good = [...tip.keys()].filter((k) => states[k] === "whole" && !Number.isNaN(tip[k]!));
  const orders =
    good.length >= 24 ? [1, 2, 3, 4, 5] : good.length >= 12 ? [1, 2, 3] : good.length >= 7 ? [1, 2] : [1];
  const walled = Math.max(...excess) > negligibleMm;
  const size = 2 + 2 * orders.length;
  if (good.length < size + 1) return undefined;
  let chosen = good;
  let scatter = Math.max(1e-6, robustScale(Float64Array.from(good, (k) => tip[k]!)));
  for (let round = 0; ; round++) {
    const a = new Float64Array(size * (chosen.length + 1));
    const b = new Float64Array(chosen.length + 1);
    const weights = new Float64Array(chosen.length + 1).fill(1 / scatter ** 2);
    chosen.forEach((k, i) => {
      a[size * i] = 1;
      a[size * i + 1] = walled ? excess[k]! : 0;
      orders.forEach((order, j) => {
        a[size * i + 2 + 2 * j] = Math.cos(order * angle[k]!);
        a[size * i + 3 + 2 * j] = Math.sin(order * angle[k]!);
      });
      b[i] = tip[k]!;
    });
    a[size * chosen.length + 1] = 1;
    b[chosen.length] = usualWall.share;
    weights[chosen.length] = 1 / usualWall.u ** 2;
    const fit = solveLinearLeastSquares(a, b, size, weights);
    if (!fit.ok) return undefined;
    const { params: p, covariance: c } = fit.value;
    const at = (t: number): number =>
      orders.reduce(
        (s, order, j) => s + p[2 + 2 * j]! * Math.cos(order * t) + p[3 + 2 * j]! * Math.sin(order * t),
        p[0]!,
      );
    const wall = p[1]!;
    const residual = Float64Array.from({ length: n }, (_, k) => tip[k]! - at(angle[k]!) - wall * excess[k]!);
    scatter = Math.max(1e-6, robustScale(Float64Array.from(good, (k) => residual[k]!)));
    const next = good.filter((k) => Math.abs(residual[k]!) < 4 * scatter + 1e-9);
    if ((round > 0 && next.length === chosen.length) || next.length < size + 1 || round === 7) {
      const of = (order: number): [number, number] => {
        const j = orders.indexOf(order);
        return j < 0 ? [0, 0] : [p[2 + 2 * j]!, p[3 + 2 * j]!];
      };
      const uOf = (order: number): number => {
        const j = orders.indexOf(order);
        if (j < 0) return scatter;
        const d = (i: number): number => c[i * size + i]!;
        return Math.sqrt((d(2 + 2 * j) + d(3 + 2 * j)) / 2);
      };
      const uWall = Math.sqrt(c[size + 1]!);
      const perWallOf = (order: number): [number, number] => {
        const j = size + 2 + 2 * orders.indexOf(order);
        return j < size + 2 ? [0, 0] : [c[j]! / uWall ** 2, c[j + 1]! / uWall ** 2];
      };
      const perWall = perWallOf(1);
      const [cosine, sine] = perWallOf(2);
      const uUntold = Math.sqrt(Math.max(0, usualWall.u ** 2 - uWall ** 2));
      return {
        mean: p[0]!,
        wall,
        first: of(1),
        second: of(2),
        third: of(3),
        uWall,
        uFirst: Math.sqrt(Math.max(0, uOf(1) ** 2 - ((perWall[0] ** 2 + perWall[1] ** 2) * uWall ** 2) / 2)),
        firstPerWall: perWall,
        uSecond: uOf(2),
        // A bright wall makes a round wheel oval, and bends at its ends by no more than light on the tips does.
        secondByWall: [cosine * uUntold, sine * uUntold],
        higher: orders.flatMap((order, j) =>
          order > 3 ? [{ order, cosine: p[2 + 2 * j]!, sine: p[3 + 2 * j]! }] : [],
        ),
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
  readonly scatter: number;
  readonly lean: number;
  /** How much less well a component of the first order is known than from as many teeth all round; 1 and more. */
  readonly oneSided: number;
}

/** Index against angle: a circle off centre by (x, y) moves a tooth at t along its arc by -x sin t + y cos t. */
function pitchForm(
  places: ToothPlaces,
  index: Float64Array,
  states: readonly ToothState[],
): PitchForm | undefined {
  const slow = slowAlong(
    places.angleRad,
    index.map((v, k) => (states[k] === "whole" ? v : NaN)),
  );
  if (slow === undefined) return undefined;
  const leans = places.offsetOuter
    .map((outer, k) => (states[k] === "whole" ? outer - places.offsetInner[k]! : NaN))
    .filter((l) => !Number.isNaN(l))
    .sort();
  const [first] = slow.harmonics;
  const terms = 1 + 2 * slow.harmonics.length;
  const evenly = slow.rms * Math.sqrt(2 / slow.residuals.length);
  const own = Math.sqrt((slow.covariance[terms + 1]! + slow.covariance[2 * terms + 2]!) / 2);
  return {
    mean: slow.mean,
    first: [-first!.sine, first!.cosine],
    scatter: slow.scatter,
    lean: leans[leans.length >> 1] ?? 0,
    oneSided: evenly > 0 ? Math.max(1, own / evenly) : 1,
  };
}
