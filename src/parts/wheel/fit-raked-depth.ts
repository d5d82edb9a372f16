import { solveLeastSquares, type LeastSquaresProblem } from "../../fit/index.js";
import { RadialBlur } from "./radial-blur.js";
import type { DepthBlur, GuessedDepth, ToothDepth } from "./tooth-depth.js";
import { roundedTip, writeShares, type ToothForm } from "./tooth-form.js";
import { ToothPicture, type ToothOptics } from "./tooth-picture.js";

/** Share of the pitch that is metal, averaged over the teeth: at radius fromMm + j stepMm. */
export interface MeanShare {
  readonly share: Float64Array;
  readonly fromMm: number;
  readonly stepMm: number;
  readonly pitchRad: number;
}

/** Of a share averaged over the teeth: what light and colour do to it, more than noise. */
const uShare = 0.01;
/** Tip and root lie as near to the guess as this, in sigmas, or as the guessed depth. */
const guessedSigmas = 4;
/** How far beyond the outline the tip of a narrow tooth usually lies, and how well that is known. */
const tipBeyond = { sigmas: 1.2, uSigmas: 1.5, uDepth: 0.15 };
/**
 * Fits after the first, each with the bending of the one before taken out; they end when tip and root stay, in
 * sigmas.
 */
const mostRounds = 2;
const settled = 0.1;
/** Of half a pitch, when the bent signal is worked out. */
const columns = 24;

/**
 * What is usual of teeth that lean, and how much it varies: for the parts that blur hides. Lengths as shares of the
 * depth. A back that runs out to a land: the share must not vanish before the tip, or the tip is anywhere.
 */
const usualForm = [
  /* share of the pitch at the root */ { usual: 0.7, u: 0.2 },
  /* how hollow the back is */ { usual: 1.4, u: 0.3 },
  /* share of the land at the tip */ { usual: 0.05, u: 0.025 },
  /* fillet of the root: gullets are wide */ { usual: 0.1, u: 0.15 },
  /* rounding of the tip */ { usual: 0.02, u: 0.02 },
  /* blur over what was expected; its u is that of the blur */ { usual: 1, u: 1 },
  /* height of the metal */ { usual: 1, u: 0.1 },
  /* blur at the root over that at the tip: walls and shadows soften the bottom of a space */ {
    usual: 1.1,
    u: 0.25,
  },
] as const;
const blurAt = 5;

/**
 * Fits the share of the pitch that is metal, as a function of radius, for teeth of escape and ratchet wheels: a hollow
 * back that runs out to a land.
 *
 * Summed along the arc, blur across the flanks cancels, however they lean; what is left is blur along the radius, a
 * convolution in one dimension that can be modelled. So a tip that is narrower than the blur, whose half height lies
 * well inside the true tip, still gives its true radius.
 *
 * @param blur standard deviation of the blur, mm, and how well that is known.
 */
export function fitRakedDepth(mean: MeanShare, guess: GuessedDepth, blur: DepthBlur): ToothDepth | undefined {
  let last = fitOnce(mean, guess, blur);
  if (blur.lens === undefined) return last?.depth;
  // The signal bends what the lens has mixed (see Contrast); how much depends on the shape that is sought.
  for (let round = 0; round < mostRounds && last !== undefined; round++) {
    const bent = bendingOf(mean, last.form, { ...blur, sigmaMm: last.depth.blurMm });
    const corrected = mean.share.map((s, j) => s - bent[j]!);
    const next = fitOnce({ ...mean, share: corrected }, guess, blur, last.params);
    if (next === undefined) break;
    const moved = Math.max(
      Math.abs(next.depth.tipMm - last.depth.tipMm),
      Math.abs(next.depth.rootMm - last.depth.rootMm),
    );
    last = next;
    if (moved < settled * blur.sigmaMm) break;
  }
  return last?.depth;
}

interface DepthFit {
  readonly depth: ToothDepth;
  readonly form: ToothForm;
  readonly params: Float64Array;
}

function fitOnce(
  mean: MeanShare,
  guess: GuessedDepth,
  blur: DepthBlur,
  from?: Float64Array,
): DepthFit | undefined {
  // Under much blur the outline that the guess comes from is too shallow.
  const room = Math.max(guess.tipMm - guess.rootMm, guessedSigmas * blur.sigmaMm);
  const n = mean.share.length;
  // The shape has corners; the last digits of its parameters mean nothing.
  const fit = solveLeastSquares(new RakedProblem(mean, guess, blur, room, from), {
    tolerance: 1e-4,
    maxIterations: 40,
    settleAtLimit: true,
    forwardOnly: true,
  });
  if (!fit.ok) return undefined;
  const { params, covariance, residuals } = fit.value;
  let sum = 0;
  for (let j = 0; j < n; j++) sum += residuals[j]! ** 2;
  const excess = Math.max(1, Math.sqrt(sum / Math.max(1, n - 6)));
  const [tipMm, rootMm] = [params[0]!, params[1]!];
  if (!(tipMm > rootMm) || Math.abs(tipMm - guess.tipMm) > room || Math.abs(rootMm - guess.rootMm) > room) {
    return undefined;
  }
  const found: ToothDepth = {
    tipMm,
    rootMm,
    uTipMm: Math.sqrt(covariance[0]!) * excess,
    uRootMm: Math.sqrt(covariance[params.length + 1]!) * excess,
    blurMm: params[7]! * blur.sigmaMm,
    rms: excess * uShare,
  };
  return { depth: found, form: new RakedTooth(params), params };
}

/** A class, as that of the upright tooth: what is compiled of it outlives the photograph. */
class RakedProblem implements LeastSquaresProblem {
  readonly residualCount: number;
  readonly start: ArrayLike<number>;
  readonly scale: readonly number[];
  readonly #share: Float64Array;
  readonly #sigmaMm: number;
  readonly #uBlurShare: number;
  readonly #usualTipMm: number;
  readonly #uUsualTipMm: number;
  readonly #rootMm: number;
  readonly #roomMm: number;
  readonly #fineMm: number;
  readonly #sharp: Float64Array;
  readonly #sharpFromMm: number;
  readonly #rootBlur: RadialBlur;
  readonly #tipBlur: RadialBlur;
  readonly #formKnown = new Float64Array(7).fill(NaN);

  constructor(
    { share, fromMm, stepMm }: MeanShare,
    guess: GuessedDepth,
    blur: DepthBlur,
    roomMm: number,
    from: Float64Array | undefined,
  ) {
    const depth = guess.tipMm - guess.rootMm;
    this.#share = share;
    this.#sigmaMm = blur.sigmaMm;
    this.#uBlurShare = blur.uMm / blur.sigmaMm;
    // The outline ends inside a narrow tip, by the blur and by where the teeth are still wide enough to be met.
    this.#usualTipMm = guess.tipMm + tipBeyond.sigmas * blur.sigmaMm;
    this.#uUsualTipMm = Math.hypot(tipBeyond.uSigmas * blur.sigmaMm, tipBeyond.uDepth * depth);
    this.#rootMm = guess.rootMm;
    this.#roomMm = roomMm;
    const fine = Math.min(0.4 * blur.sigmaMm, 0.5 * stepMm, depth / 40);
    const reach = Math.ceil((3.5 * Math.max(1.8 * blur.sigmaMm, blur.sigmaMm + 2 * blur.uMm)) / fine);
    this.#fineMm = fine;
    this.#sharp = new Float64Array(Math.ceil(((share.length - 1) * stepMm) / fine) + 2 + 2 * reach);
    this.#sharpFromMm = fromMm - reach * fine;
    const middle = guess.rootMm + 0.4 * depth;
    let inner = 0;
    while (inner < share.length && fromMm + inner * stepMm <= middle) inner++;
    this.#rootBlur = new RadialBlur(0, inner, stepMm / fine, reach);
    this.#tipBlur = new RadialBlur(inner, share.length, stepMm / fine, reach);
    this.residualCount = share.length + usualForm.length + 2;
    this.start = from ?? [guess.tipMm, guess.rootMm, ...usualForm.map((f) => f.usual)];
    this.scale = [0.05 * depth, 0.05 * depth, ...usualForm.map((f) => 0.1 * f.u)];
  }

  residuals(p: Float64Array, out: Float64Array): void {
    const n = this.#share.length;
    this.#model(p, out);
    subtractShares(out, this.#share);
    for (let k = 0; k < usualForm.length; k++) {
      const { usual, u } = usualForm[k]!;
      out[n + k] = (p[2 + k]! - usual) / (k === blurAt ? this.#uBlurShare : u);
    }
    out[n + usualForm.length] = (p[0]! - this.#usualTipMm) / this.#uUsualTipMm;
    out[n + usualForm.length + 1] = (p[1]! - this.#rootMm) / (0.5 * this.#roomMm);
  }

  #model(p: Float64Array, out: Float64Array): void {
    // Most calls move one parameter only: what hangs on the others stays.
    if (differ(this.#formKnown, p)) {
      this.#formKnown.set(p.subarray(0, 7));
      writeShares(this.#sharp, this.#sharpFromMm, this.#fineMm, new RakedTooth(p));
    }
    this.#rootBlur.widen((Math.min(1.8, Math.max(0.3, p[7]! * p[9]!)) * this.#sigmaMm) / this.#fineMm);
    this.#tipBlur.widen((Math.max(0.3, p[7]!) * this.#sigmaMm) / this.#fineMm);
    this.#rootBlur.write(this.#sharp, p[8]!, out);
    this.#tipBlur.write(this.#sharp, p[8]!, out);
  }
}

function subtractShares(out: Float64Array, share: Float64Array): void {
  for (let j = 0; j < share.length; j++) out[j] = (out[j]! - share[j]!) / uShare;
}

function differ(some: Float64Array, others: Float64Array): boolean {
  for (let i = 0; i < some.length; i++) if (some[i] !== others[i]) return true;
  return false;
}

/** A hollow back down from the land. */
class RakedTooth implements ToothForm {
  readonly tipMm: number;
  readonly rootMm: number;
  readonly fillet: number;
  readonly #foot: number;
  readonly #hollow: number;
  readonly #land: number;
  readonly #rounding: number;

  constructor(p: Float64Array) {
    this.tipMm = p[0]!;
    this.rootMm = p[1]!;
    this.#foot = p[2]!;
    this.#hollow = Math.max(0.6, p[3]!);
    this.#land = Math.min(1, Math.max(0, p[4]!));
    this.fillet = Math.abs(p[5]!);
    this.#rounding = Math.abs(p[6]!);
  }

  shareAt(x: number): number {
    const back = (this.#foot - this.#land) * Math.max(0, 1 - x) ** this.#hollow;
    return (this.#land + back) * roundedTip(x, this.#rounding);
  }
}

/**
 * What the bent signal does to the share of metal: the mean tooth is drawn, blurred by the lens, put through the
 * response, summed along the arc; less the same without the response. Narrow tips suffer most. How the tooth leans
 * hardly matters to that.
 */
function bendingOf(mean: MeanShare, form: ToothForm, { sigmaMm, lens }: DepthBlur): Float64Array {
  const { share, fromMm, stepMm, pitchRad } = mean;
  const rows = share.length;
  if (lens === undefined) return new Float64Array(rows);
  const picture = new ToothPicture({ rows, columns, fromMm, stepMm, pitchRad });
  const sharp = new Float64Array(picture.shares.count);
  writeShares(sharp, picture.shares.fromMm, picture.shares.stepMm, form);
  const colourMm = Math.sqrt(Math.max(0, sigmaMm ** 2 - lens.sigmaMm ** 2));
  picture.shape(sharp, form.rootMm, form.tipMm);
  const meanOf = (optics: ToothOptics): Float64Array => {
    const drawn = new Float64Array(rows * columns);
    picture.draw(optics, drawn);
    return Float64Array.from(
      { length: rows },
      (_, j) => drawn.subarray(j * columns, (j + 1) * columns).reduce((a, b) => a + b, 0) / columns,
    );
  };
  const blurOnly = { wallsMm: 0, softer: 1 };
  const bent = meanOf({
    ...blurOnly,
    lensMm: lens.sigmaMm,
    colour: { sigmaMm: colourMm, atRoot: lens.atRoot, atTip: lens.atTip },
  });
  const straight = meanOf({ ...blurOnly, lensMm: Math.max(lens.sigmaMm, sigmaMm), colour: undefined });
  return bent.map((v, j) => v - straight[j]!);
}
