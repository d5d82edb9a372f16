import { solveLeastSquares } from "../../fit/index.js";
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
type Seen = { -readonly [name in keyof typeof usual]: number };
const names = Object.keys(usual) as (keyof typeof usual)[];

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
  const guessedDepth = guess.tipMm - guess.rootMm;
  const room = Math.max(guessedDepth, guessedSigmas * blur.sigmaMm);
  const picture = new ToothPicture(mean);
  const share = new Float64Array(picture.shares.count);
  const cells = mean.value.length;
  const startTipMm = guess.tipMm + tipBeyondSigmas * blur.sigmaMm;
  const seen = newSeen();
  const fit = solveLeastSquares(
    {
      residualCount: cells + names.length + 2,
      start: [startTipMm, guess.rootMm, ...names.map(() => 0)],
      scale: [0.05 * guessedDepth, 0.05 * guessedDepth, ...names.map(() => 0.1)],
      residuals: (p, out) => {
        read(p, blur, seen);
        writeShares(share, picture.shares.fromMm, picture.shares.stepMm, formOf(p[0]!, p[1]!, seen));
        const drawn = out.subarray(0, cells);
        picture.draw(share, p[1]!, p[0]!, opticsOf(blur, wallsMm, seen), drawn);
        misfit(drawn, seen.height, mean.value);
        for (let k = 0; k < names.length; k++) out[cells + k] = p[2 + k]!;
        out[cells + names.length] = (p[0]! - startTipMm) / room;
        out[cells + names.length + 1] = (p[1]! - guess.rootMm) / (0.5 * room);
      },
    },
    // The shape has corners; the last digits of its parameters mean nothing.
    { tolerance: 1e-4, maxIterations: 16, settleAtLimit: true, forwardOnly: true },
  );
  if (!fit.ok) return undefined;
  const { params, covariance, residuals } = fit.value;
  const [tipMm, rootMm] = [params[0]!, params[1]!];
  if (!(tipMm > rootMm) || Math.abs(tipMm - guess.tipMm) > room || Math.abs(rootMm - guess.rootMm) > room)
    return undefined;
  let sum = 0;
  for (let i = 0; i < cells; i++) sum += residuals[i]! ** 2;
  const excess = Math.max(1, Math.sqrt(sum / cells));
  read(params, blur, seen);
  return {
    tipMm,
    rootMm,
    uTipMm: Math.sqrt(covariance[0]!) * excess,
    uRootMm: Math.sqrt(covariance[params.length + 1]!) * excess,
    blurMm: seen.blur * blur.sigmaMm,
    rms: excess * uCell,
  };
}

const newSeen = (): Seen => Object.fromEntries(names.map((name) => [name, usual[name].usual])) as Seen;

/** Parameters are counted in standard deviations off what is usual, and squeezed between least and most. */
function read(p: Float64Array, blur: DepthBlur, out: Seen): void {
  for (let k = 0; k < names.length; k++) {
    const name = names[k]!;
    const { usual: middle, u, least, most } = usual[name];
    const range = most - least;
    const at = (middle - least) / range;
    const steep = (name === "blur" ? blur.uMm / blur.sigmaMm : u) / (range * at * (1 - at));
    out[name] = least + range / (1 + (1 / at - 1) * Math.exp(-steep * p[2 + k]!));
  }
}

/** Straight flanks up to the knee, then an addendum that bends in to a tip with rounded corners. */
function formOf(tipMm: number, rootMm: number, seen: Seen): ToothForm {
  const { flank, slope, bend, knee } = seen;
  const blunt = Math.max(0, seen.blunt);
  const rounding = Math.max(0, seen.rounding);
  return {
    rootMm,
    tipMm,
    fillet: Math.max(0, seen.fillet),
    shareAt: (x) => {
      const straight = flank + slope * (x - knee);
      const bent = x > knee ? 1 - (1 - blunt) * ((x - knee) / (1 - knee)) ** bend : 1;
      return straight * bent * roundedTip(x, rounding);
    },
  };
}

function opticsOf({ sigmaMm, lens }: DepthBlur, wallsMm: number, seen: Seen): ToothOptics {
  const blurMm = seen.blur * sigmaMm;
  const shared = { wallsMm: Math.max(0, seen.walls) * wallsMm, softer: seen.softer };
  if (lens === undefined) return { ...shared, lensMm: blurMm };
  // Little of the blur is left for stored colour where it is less than the lens's own.
  const colourMm = Math.sqrt(
    Math.max(0.01 * (sigmaMm ** 2 - lens.sigmaMm ** 2), blurMm ** 2 - lens.sigmaMm ** 2, 0),
  );
  return {
    ...shared,
    lensMm: lens.sigmaMm,
    colour: { sigmaMm: colourMm, atRoot: lens.atRoot, atTip: lens.atTip },
  };
}

function misfit(drawn: Float64Array, height: number, value: Float64Array): void {
  for (let i = 0; i < drawn.length; i++) drawn[i] = (height * drawn[i]! - value[i]!) / uCell;
}
