import { solveLeastSquares, type LeastSquaresProblem } from "../../fit/index.js";
import type { MeanTooth } from "./mean-tooth.js";
import type { DepthBlur, GuessedDepth, ToothDepth } from "./tooth-depth.js";
import { roundedTip, writeShares, type ToothForm } from "./tooth-form.js";
import { ToothPicture, type ToothOptics } from "./tooth-picture.js";

/** Of a cell of the mean tooth: what light and colour do to it, more than noise. */
const uCell = 0.025;
/** Tip and root lie as near to the guess as the guessed depth, or as this, in sigmas. */
const guessedSigmas = 4;
/** The outline ends inside the tip by about this, in sigmas. */
const tipBeyondSigmas = 1;
/** The blur that is fitted may be so many times the expected one. */
const mostBlur = 1.6;

interface Usual {
  readonly usual: number;
  readonly u: number;
  /** Nothing beyond these is a tooth, or light on one. */
  readonly least: number;
  readonly most: number;
}

/**
 * What is usual of upright teeth, wide enough for pointed, blunt, rounded and square ones (common practice, no source),
 * and of how they are seen. Lengths as shares of the depth, widths as shares of the pitch.
 */
const usual = {
  flank: { usual: 0.5, u: 0.2, least: 0.15, most: 0.9 },
  /** Of the flanks over the depth. */
  slope: { usual: 0, u: 0.2, least: -0.8, most: 0.6 },
  /** Power by which the addendum bends in: 1.5 for an epicycloid near the pitch circle. */
  bend: { usual: 1.8, u: 0.6, least: 0.9, most: 6 },
  /** What is left of the width at the tip. */
  blunt: { usual: 0.3, u: 0.3, least: -0.02, most: 1.05 },
  /** Where the flanks begin to bend. */
  knee: { usual: 0.5, u: 0.15, least: 0.1, most: 0.9 },
  fillet: { usual: 0.08, u: 0.05, least: -0.02, most: 0.25 },
  rounding: { usual: 0.04, u: 0.04, least: -0.02, most: 0.3 },
  /** Blur over what was expected; its u is that of the blur. */
  blur: { usual: 1, u: 1, least: 0.3, most: mostBlur },
  /** Height of the metal: teeth are not quite as bright as the rim. */
  height: { usual: 1, u: 0.1, least: 0.6, most: 1.4 },
  /** Blur at the root over that at the tip: walls and shadows soften the bottom of a space. */
  softer: { usual: 1.1, u: 0.15, least: 0.5, most: 1.8 },
  /** Share of the walls under the flanks that passes for metal. */
  walls: { usual: 0.5, u: 0.3, least: -0.2, most: 2 },
} as const satisfies Record<string, Usual>;
const names = Object.keys(usual) as (keyof typeof usual)[];
const limits = names.map((name): Usual => usual[name]);
/** Where each stands among the parameters, from the third on: behind tip and root. */
const [flank, slope, bend, blunt, knee, fillet, rounding, blurred, height, softer, walls] = [
  ...names.keys(),
] as [number, number, number, number, number, number, number, number, number, number, number];
/** Tip, root and all up to the rounding make the form. */
const formCount = 2 + rounding + 1;

/**
 * Fits an upright tooth to the picture of the mean tooth: its outline is drawn in two dimensions, blurred by the lens,
 * put through the tone curve, blurred as colour is stored. So a tip that is narrower than the blur, whose half height
 * lies well inside the true tip, still gives its true radius; and how wide the light over a tip lies tells a
 * narrow tip from a blunt one, which its height alone does not.
 *
 * @param blur standard deviation of the blur, and how well it is known.
 * @param wallsMm how far walls under the flanks spread them (see ThickOutline.flankSpreadMm), if all of a wall passed for metal.
 */
export function fitMeanTooth(
  mean: MeanTooth,
  guess: GuessedDepth,
  blur: DepthBlur,
  wallsMm: number,
): ToothDepth | undefined {
  const problem = new MeanToothProblem(mean, guess, blur, wallsMm);
  // The shape has corners; the last digits of its parameters mean nothing.
  const fit = solveLeastSquares(problem, {
    tolerance: 1e-4,
    maxIterations: 16,
    settleAtLimit: true,
    forwardOnly: true,
  });
  if (!fit.ok) return undefined;
  const { params, covariance, residuals } = fit.value;
  const [tipMm, rootMm] = [params[0]!, params[1]!];
  const room = roomFor(guess, blur);
  if (!(tipMm > rootMm) || Math.abs(tipMm - guess.tipMm) > room || Math.abs(rootMm - guess.rootMm) > room)
    return undefined;
  const cells = mean.value.length;
  let sum = 0;
  for (let i = 0; i < cells; i++) sum += residuals[i]! ** 2;
  const excess = Math.max(1, Math.sqrt(sum / cells));
  return {
    tipMm,
    rootMm,
    uTipMm: Math.sqrt(covariance[0]!) * excess,
    uRootMm: Math.sqrt(covariance[params.length + 1]!) * excess,
    blurMm: problem.blurShare(params) * blur.sigmaMm,
    rms: excess * uCell,
  };
}

const roomFor = ({ tipMm, rootMm }: GuessedDepth, { sigmaMm }: DepthBlur): number =>
  Math.max(tipMm - rootMm, guessedSigmas * sigmaMm);

// A class: V8 throws away what it compiled of a closure as soon as the last of its kind is gone.

class MeanToothProblem implements LeastSquaresProblem {
  readonly residualCount: number;
  readonly start: readonly number[];
  readonly scale: readonly number[];
  readonly #value: Float64Array;
  readonly #blur: DepthBlur;
  readonly #wallsMm: number;
  readonly #startTipMm: number;
  readonly #startRootMm: number;
  readonly #roomMm: number;
  readonly #picture: ToothPicture;
  readonly #share: Float64Array;
  readonly #shareFromMm: number;
  readonly #shareStepMm: number;
  readonly #tooth = new UprightTooth();
  /** What the tooth and its light were read as last. */
  readonly #seen = new Float64Array(names.length);
  readonly #drawn = new Float64Array(formCount).fill(NaN);

  constructor(mean: MeanTooth, guess: GuessedDepth, blur: DepthBlur, wallsMm: number) {
    const depthMm = guess.tipMm - guess.rootMm;
    this.#value = mean.value;
    this.#blur = blur;
    this.#wallsMm = wallsMm;
    this.#startTipMm = guess.tipMm + tipBeyondSigmas * blur.sigmaMm;
    this.#startRootMm = guess.rootMm;
    this.#roomMm = roomFor(guess, blur);
    this.#picture = new ToothPicture(mean);
    const { count, fromMm, stepMm } = this.#picture.shares;
    this.#share = new Float64Array(count);
    this.#shareFromMm = fromMm;
    this.#shareStepMm = stepMm;
    this.residualCount = mean.value.length + names.length + 2;
    this.start = [this.#startTipMm, guess.rootMm, ...names.map(() => 0)];
    this.scale = [0.05 * depthMm, 0.05 * depthMm, ...names.map(() => 0.1)];
  }

  residuals(p: Float64Array, out: Float64Array): void {
    const cells = this.#value.length;
    this.#read(p);
    if (differ(this.#drawn, p)) this.#shape(p);
    const drawn = out.subarray(0, cells);
    this.#picture.draw(this.#optics(), drawn);
    misfit(drawn, this.#seen[height]!, this.#value);
    for (let k = 0; k < names.length; k++) out[cells + k] = p[2 + k]!;
    out[cells + names.length] = (p[0]! - this.#startTipMm) / this.#roomMm;
    out[cells + names.length + 1] = (p[1]! - this.#startRootMm) / (0.5 * this.#roomMm);
  }

  /** The blur that was fitted over the expected one. */
  blurShare(p: Float64Array): number {
    this.#read(p);
    return this.#seen[blurred]!;
  }

  /** Parameters are counted in standard deviations off what is usual, and squeezed between least and most. */
  #read(p: Float64Array): void {
    const { uMm, sigmaMm } = this.#blur;
    for (let k = 0; k < limits.length; k++) {
      const { usual: middle, u, least, most } = limits[k]!;
      const range = most - least;
      const at = (middle - least) / range;
      const steep = (k === blurred ? uMm / sigmaMm : u) / (range * at * (1 - at));
      this.#seen[k] = least + range / (1 + (1 / at - 1) * Math.exp(-steep * p[2 + k]!));
    }
  }

  #shape(p: Float64Array): void {
    for (let k = 0; k < formCount; k++) this.#drawn[k] = p[k]!;
    this.#tooth.become(p[0]!, p[1]!, this.#seen);
    writeShares(this.#share, this.#shareFromMm, this.#shareStepMm, this.#tooth);
    this.#picture.shape(this.#share, p[1]!, p[0]!);
  }

  #optics(): ToothOptics {
    const { sigmaMm, lens } = this.#blur;
    const seen = this.#seen;
    const blurMm = seen[blurred]! * sigmaMm;
    const wallsMm = Math.max(0, seen[walls]!) * this.#wallsMm;
    if (lens === undefined) return { lensMm: blurMm, wallsMm, softer: seen[softer]!, colour: undefined };
    // Little of the blur is left for stored colour where it is less than the lens's own.
    const colourMm = Math.sqrt(
      Math.max(0.01 * (sigmaMm ** 2 - lens.sigmaMm ** 2), blurMm ** 2 - lens.sigmaMm ** 2, 0),
    );
    const colour = { sigmaMm: colourMm, atRoot: lens.atRoot, atTip: lens.atTip };
    return { lensMm: lens.sigmaMm, wallsMm, softer: seen[softer]!, colour };
  }
}

/** Straight flanks up to the knee, then an addendum that bends in to a tip with rounded corners. */
class UprightTooth implements ToothForm {
  tipMm = 0;
  rootMm = 0;
  fillet = 0;
  #flank = 0;
  #slope = 0;
  #bend = 0;
  #blunt = 0;
  #knee = 0;
  #rounding = 0;

  become(tipMm: number, rootMm: number, seen: Float64Array): void {
    this.tipMm = tipMm;
    this.rootMm = rootMm;
    this.fillet = Math.max(0, seen[fillet]!);
    this.#flank = seen[flank]!;
    this.#slope = seen[slope]!;
    this.#bend = seen[bend]!;
    this.#blunt = Math.max(0, seen[blunt]!);
    this.#knee = seen[knee]!;
    this.#rounding = Math.max(0, seen[rounding]!);
  }

  shareAt(x: number): number {
    const knee = this.#knee;
    const straight = this.#flank + this.#slope * (x - knee);
    const bent = x > knee ? 1 - (1 - this.#blunt) * ((x - knee) / (1 - knee)) ** this.#bend : 1;
    return straight * bent * roundedTip(x, this.#rounding);
  }
}

function differ(some: Float64Array, others: Float64Array): boolean {
  for (let i = 0; i < some.length; i++) if (some[i] !== others[i]) return true;
  return false;
}

function misfit(drawn: Float64Array, height: number, value: Float64Array): void {
  for (let i = 0; i < drawn.length; i++) drawn[i] = (height * drawn[i]! - value[i]!) / uCell;
}
