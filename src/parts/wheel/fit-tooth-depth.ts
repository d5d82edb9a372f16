import { solveLeastSquares } from "../../fit/index.js";
import { respond } from "../contrast.js";
import { RadialBlur } from "./radial-blur.js";

/** Radii of the tip and the root of the mean tooth, with the blur taken out. */
export interface ToothDepth {
  readonly tipMm: number;
  readonly rootMm: number;
  readonly uTipMm: number;
  readonly uRootMm: number;
  readonly blurMm: number;
  readonly rms: number;
  /** Share of the pitch that the flanks take, and how the addendum bends in. */
  readonly flank: number;
  readonly bend: number;
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

/**
 * Fits the share of the pitch that is metal, as a function of radius:
 *
 *     1 |‾‾‾\                    root: the spaces close
 *       |    \______             radial flanks: constant share
 *       |           ‾‾\          curved flanks
 *     0 |______________\____     tip: the teeth end
 *
 * Summed along the arc, blur across the flanks cancels; what is left is blur along the radius, a convolution in one
 * dimension that can be modelled. So a tip that is narrower than the blur, whose half height lies well inside the
 * true tip, still gives its true radius.
 *
 * @param share share of metal at radius fromMm + j stepMm.
 * @param blur standard deviation of the blur, mm, and how well that is known.
 */
export function fitToothDepth(
  share: Float64Array,
  fromMm: number,
  stepMm: number,
  guess: { readonly tipMm: number; readonly rootMm: number },
  blur: DepthBlur,
  stance: ToothStance = "upright",
): ToothDepth | undefined {
  let last = fitOnce(share, fromMm, stepMm, guess, blur, stance);
  if (blur.lens === undefined) return last?.depth;
  // The signal bends what the lens has mixed (see Contrast); how much depends on the shape that is sought.
  for (let round = 0; round < mostRounds && last !== undefined; round++) {
    const bent = bendingOf(last.shape, fromMm, stepMm, share.length, last.depth.blurMm, blur.lens);
    const corrected = share.map((s, j) => s - bent[j]!);
    const next = fitOnce(corrected, fromMm, stepMm, guess, blur, stance, last.params);
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

export interface DepthBlur {
  /** Of the signal: lens and stored colour together. */
  readonly sigmaMm: number;
  readonly uMm: number;
  /** Where the signal is not linear in the light. */
  readonly lens?: LensMixing;
}

export interface LensMixing {
  /** Blur of the lens alone, mm. */
  readonly sigmaMm: number;
  readonly pitchMm: number;
  /** The signal against the share of light from metal (see Contrast): at the bottom of the spaces and at the tips. */
  readonly atRoot: Float64Array;
  readonly atTip: Float64Array;
}

interface DepthFit {
  readonly depth: ToothDepth;
  readonly shape: ToothShape;
  readonly params: Float64Array;
}

function fitOnce(
  share: Float64Array,
  fromMm: number,
  stepMm: number,
  guess: { readonly tipMm: number; readonly rootMm: number },
  blur: DepthBlur,
  stance: ToothStance,
  from?: Float64Array,
): DepthFit | undefined {
  const forms = usualForms[stance];
  const depth = guess.tipMm - guess.rootMm;
  // Under much blur the outline that the guess comes from is too shallow.
  const room = Math.max(depth, guessedSigmas * blur.sigmaMm);
  // The outline ends inside a narrow tip, by the blur and by where the teeth are still wide enough to be met.
  const usualTipMm = guess.tipMm + tipBeyond.sigmas * blur.sigmaMm;
  const uUsualTipMm = Math.hypot(tipBeyond.uSigmas * blur.sigmaMm, tipBeyond.uDepth * depth);
  const fine = Math.min(0.4 * blur.sigmaMm, 0.5 * stepMm, depth / 40);
  const reach = Math.ceil((3.5 * Math.max(1.8 * blur.sigmaMm, blur.sigmaMm + 2 * blur.uMm)) / fine);
  const cells = Math.ceil(((share.length - 1) * stepMm) / fine) + 2 + 2 * reach;
  const sharp = new Float64Array(cells);
  const middle = guess.rootMm + 0.4 * depth;
  let inner = 0;
  while (inner < share.length && fromMm + inner * stepMm <= middle) inner++;
  const rootBlur = new RadialBlur(0, inner, stepMm / fine, reach);
  const tipBlur = new RadialBlur(inner, share.length, stepMm / fine, reach);

  const start = from ?? [guess.tipMm, guess.rootMm, ...forms.map((f) => f.usual)];
  const shape = (p: Float64Array): ToothShape => ({
    stance,
    tip: p[0]!,
    root: p[1]!,
    flank: p[2]!,
    slope: p[3]!,
    bend: Math.max(0.6, p[4]!),
    blunt: Math.min(1, Math.max(0, p[5]!)),
    knee: Math.min(0.85, Math.max(0.15, p[6]!)),
    fillet: Math.abs(p[7]!),
    rounding: Math.abs(p[8]!),
  });
  const shapeKnown = new Float64Array(9).fill(NaN);
  const model = (p: Float64Array, out: Float64Array): void => {
    // Most calls move one parameter only: what hangs on the others stays.
    if (differ(shapeKnown, p)) {
      shapeKnown.set(p.subarray(0, 9));
      sharpShare(sharp, fromMm - reach * fine, fine, shape(p));
    }
    rootBlur.widen((Math.min(1.8, Math.max(0.3, p[9]! * p[11]!)) * blur.sigmaMm) / fine);
    tipBlur.widen((Math.max(0.3, p[9]!) * blur.sigmaMm) / fine);
    rootBlur.write(sharp, p[10]!, out);
    tipBlur.write(sharp, p[10]!, out);
  };
  const fit = solveLeastSquares(
    {
      residualCount: share.length + forms.length + 2,
      start,
      scale: [0.05 * depth, 0.05 * depth, ...forms.map((f) => 0.1 * f.u)],
      residuals: (p, out) => {
        model(p, out);
        for (let j = 0; j < share.length; j++) out[j] = (out[j]! - share[j]!) / uShare;
        for (let k = 0; k < forms.length; k++) {
          const { usual, u } = forms[k]!;
          out[share.length + k] = (p[2 + k]! - usual) / (k === 7 ? blur.uMm / blur.sigmaMm : u);
        }
        out[share.length + forms.length] = (p[0]! - usualTipMm) / uUsualTipMm;
        out[share.length + forms.length + 1] = (p[1]! - guess.rootMm) / (0.5 * room);
      },
    },
    // The shape has corners; the last digits of its parameters mean nothing.
    { tolerance: 1e-4, maxIterations: 40, settleAtLimit: true, forwardOnly: true },
  );
  if (!fit.ok) return undefined;
  const { params, covariance, residuals } = fit.value;
  let sum = 0;
  for (let j = 0; j < share.length; j++) sum += residuals[j]! ** 2;
  const excess = Math.max(1, Math.sqrt(sum / Math.max(1, share.length - 6)));
  const n = params.length;
  const [tipMm, rootMm] = [params[0]!, params[1]!];
  if (!(tipMm > rootMm) || Math.abs(tipMm - guess.tipMm) > room || Math.abs(rootMm - guess.rootMm) > room) {
    return undefined;
  }
  const found: ToothDepth = {
    tipMm,
    rootMm,
    uTipMm: Math.sqrt(covariance[0]!) * excess,
    uRootMm: Math.sqrt(covariance[n + 1]!) * excess,
    blurMm: params[9]! * blur.sigmaMm,
    rms: excess * uShare,
    flank: params[2]!,
    bend: params[4]!,
  };
  return { depth: found, shape: shape(params), params };
}

function differ(some: Float64Array, others: Float64Array): boolean {
  for (let i = 0; i < some.length; i++) if (some[i] !== others[i]) return true;
  return false;
}

/**
 * What the bent signal does to the share of metal: the mean tooth is drawn in two dimensions, blurred by the lens, put
 * through the response, summed along the arc; less the same without the response. Narrow tips suffer most.
 */
function bendingOf(
  shape: ToothShape,
  fromMm: number,
  stepMm: number,
  length: number,
  sigmaMm: number,
  lens: LensMixing,
): Float64Array {
  const cell = Math.max(0.4 * lens.sigmaMm, lens.pitchMm / 120);
  const colourMm = Math.sqrt(Math.max(0, sigmaMm ** 2 - lens.sigmaMm ** 2));
  const margin = Math.ceil((3.5 * sigmaMm) / cell);
  const rows = Math.ceil(((length - 1) * stepMm) / cell) + 2 + 2 * margin;
  const columns = Math.max(8, Math.round(lens.pitchMm / cell));
  const widths = new Float64Array(rows);
  sharpShare(widths, fromMm - margin * cell, cell, shape);
  // Left and right half of a tooth are alike.
  const half = Math.ceil(columns / 2);
  const kernel = gaussKernel(lens.sigmaMm / cell);
  const reach = kernel.length >> 1;
  const across = new Float64Array(rows * half);
  // One tooth, and as much of its neighbours as blur brings in.
  const line = new Float64Array(half + 2 * reach);
  const column = Int32Array.from(line, (_, k) => (((k - reach) % columns) + columns) % columns);
  for (let i = 0; i < rows; i++) {
    drawRow(line, column, (widths[i]! * columns) / 2, columns / 2);
    for (let k = 0; k < half; k++) across[i * half + k] = weightedSum(kernel, line, k);
  }
  const blurred = new Float64Array(half);
  const difference = new Float64Array(rows);
  for (let i = 0; i < rows; i++) {
    // All metal or none: nothing is mixed.
    const [first, last] = [Math.max(0, i - reach), Math.min(rows - 1, i + reach)];
    if (widths[first] === widths[last] && (widths[first] === 0 || widths[first] === 1)) continue;
    const up = Math.min(
      1,
      Math.max(0, (fromMm + (i - margin) * cell - shape.root) / (shape.tip - shape.root)),
    );
    blurred.fill(0);
    for (let d = -reach; d <= reach; d++)
      addRow(blurred, across, Math.min(rows - 1, Math.max(0, i + d)) * half, kernel[d + reach]!);
    difference[i] = bentBy(blurred, columns, up, lens.atRoot, lens.atTip) / columns;
  }
  const soft = colourMm > 0.2 * cell ? gaussKernel(colourMm / cell) : Float64Array.of(1);
  const far = soft.length >> 1;
  return Float64Array.from({ length }, (_, j) => {
    const x = (j * stepMm) / cell + margin;
    const at = Math.floor(x);
    const f = x - at;
    let s = 0;
    for (let d = -far; d <= far; d++) {
      const a = difference[Math.min(rows - 1, Math.max(0, at + d))]!;
      const b = difference[Math.min(rows - 1, Math.max(0, at + 1 + d))]!;
      s += soft[d + far]! * (a + f * (b - a));
    }
    return s;
  });
}

/** A tooth drawn across one row: 1 within half its width of the middle, in part where its edge lies. */
function drawRow(line: Float64Array, column: Int32Array, halfWidth: number, middle: number): void {
  for (let k = 0; k < line.length; k++) {
    const d = Math.abs(column[k]! + 0.5 - middle);
    line[k] = Math.min(1, Math.max(0, halfWidth - d + 0.5));
  }
}

/** What the responses at root and tip, mixed by `up`, add to half a row of shares and its mirror image. */
function bentBy(
  row: Float64Array,
  columns: number,
  up: number,
  atRoot: Float64Array,
  atTip: Float64Array,
): number {
  let sum = 0;
  for (let k = 0; k < row.length; k++) {
    const s = row[k]!;
    const seen = (1 - up) * respond(atRoot, s) + up * respond(atTip, s);
    sum += (seen - s) * (2 * k + 1 === columns ? 1 : 2);
  }
  return sum;
}

function weightedSum(kernel: Float64Array, values: Float64Array, at: number): number {
  let sum = 0;
  for (let d = 0; d < kernel.length; d++) sum += kernel[d]! * values[at + d]!;
  return sum;
}

function addRow(out: Float64Array, rows: Float64Array, at: number, weight: number): void {
  for (let k = 0; k < out.length; k++) out[k]! += weight * rows[at + k]!;
}

function gaussKernel(sigma: number): Float64Array {
  const reach = Math.max(1, Math.ceil(3.2 * sigma));
  const k = Float64Array.from({ length: 2 * reach + 1 }, (_, i) =>
    Math.exp(-0.5 * ((i - reach) / sigma) ** 2),
  );
  const total = k.reduce((a, b) => a + b, 0);
  return k.map((v) => v / total);
}

/** Teeth of train wheels stand upright, those of escape and ratchet wheels are raked. */
export type ToothStance = "upright" | "raked";

/** What is usual of teeth, and how much it varies: for the parts that blur hides. Lengths as shares of the depth. */
const upright = [
  /* share of the flanks */ { usual: 0.48, u: 0.3 },
  /* its slope over the depth */ { usual: -0.03, u: 0.3 },
  /* bend of the addendum: 1.5 for an epicycloid near the pitch circle */ { usual: 1.5, u: 0.3 },
  /* what is left of the width at the tip */ { usual: 0.15, u: 0.25 },
  /* where the flanks begin to bend: the pitch circle */ { usual: 0.5, u: 0.07 },
  /* fillet of the root */ { usual: 0.05, u: 0.05 },
  /* rounding of the tip */ { usual: 0.04, u: 0.04 },
  /* blur over what was expected */ { usual: 1, u: 1 },
  /* height of the metal */ { usual: 1, u: 0.1 },
  /* blur at the root over that at the tip: walls and shadows soften the bottom of a space */ {
    usual: 1.1,
    u: 0.25,
  },
] as const;

/**
 * Of raked teeth the first four mean: share at the root, nothing, how hollow the back is, share of the land at the tip.
 * A back that runs out to a land: the share must not vanish before the tip, or the tip is anywhere.
 */
const raked = [
  { usual: 0.7, u: 0.2 },
  { usual: 0, u: 0.3 },
  { usual: 1.4, u: 0.3 },
  { usual: 0.05, u: 0.025 },
  { usual: 0.5, u: 0.07 },
  /* fillet of the root: gullets are wide */ { usual: 0.1, u: 0.15 },
  { usual: 0.02, u: 0.02 },
  ...upright.slice(7),
] as const;

const usualForms = { upright, raked } as const;

interface ToothShape {
  readonly stance: ToothStance;
  readonly tip: number;
  readonly root: number;
  readonly flank: number;
  readonly slope: number;
  readonly bend: number;
  readonly blunt: number;
  readonly knee: number;
  readonly fillet: number;
  readonly rounding: number;
}

/** The unblurred share on a fine grid. */
function sharpShare(out: Float64Array, fromMm: number, stepMm: number, shape: ToothShape): void {
  const depth = shape.tip - shape.root;
  const cellX = stepMm / depth;
  for (let i = 0; i < out.length; i++) {
    const x = (fromMm + i * stepMm - shape.root) / depth;
    // A cell that root or tip cuts counts in part, so that the model is smooth in both.
    const above = Math.min(1, Math.max(0, x / cellX + 0.5));
    let s = 1;
    if (above > 0) {
      const at = Math.max(0.25 * cellX * above, x);
      s = at >= 1 ? 0 : flankShare(at, shape);
      // The corners of a space are filleted.
      const q = at / Math.max(1e-6, shape.fillet);
      if (q < 1) s += Math.min(1 - s, 2 * shape.fillet) * (1 - Math.sqrt(q * (2 - q)));
      const cut = (1 - x) / cellX + 0.5;
      if (cut > 0 && cut < 1) s = flankShare(Math.min(1 - 0.25 * cellX, x), shape) * cut;
      s = 1 + above * (s - 1);
    }
    out[i] = Math.min(1, Math.max(0, s));
  }
}

/**
 * Raked: a hollow back down from the land. Upright: straight flanks up to the knee, then an addendum that bends in to
 * a blunt, rounded tip.
 */
function flankShare(x: number, shape: ToothShape): number {
  const isRaked = shape.stance === "raked";
  let s = isRaked
    ? shape.blunt + (shape.flank - shape.blunt) * Math.max(0, 1 - x) ** shape.bend
    : shape.flank + shape.slope * (x - shape.knee);
  if (!isRaked && x > shape.knee) {
    const t = (x - shape.knee) / (1 - shape.knee);
    s *= 1 - (1 - shape.blunt) * t ** shape.bend;
  }
  const q = (x - 1 + shape.rounding) / Math.max(1e-6, shape.rounding);
  if (q > 0) s *= Math.sqrt(Math.max(0, 1 - q * q));
  return s;
}
