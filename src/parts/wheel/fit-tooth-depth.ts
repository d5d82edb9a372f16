import { solveLeastSquares } from "../../fit/index.js";

/** Radii of the tip and the root of the mean tooth, with the blur taken out. */
export interface ToothDepth {
  readonly tipMm: number;
  readonly rootMm: number;
  readonly uTipMm: number;
  readonly uRootMm: number;
  /** Radius at which tooth and space are equally wide, if there is one between root and tip. */
  readonly halfMm: number | undefined;
  readonly blurMm: number;
  readonly rms: number;
}

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
  blur: { readonly sigmaMm: number; readonly uMm: number },
): ToothDepth | undefined {
  const depth = guess.tipMm - guess.rootMm;
  const fine = Math.min(0.3 * blur.sigmaMm, 0.25 * stepMm, depth / 60);
  const reach = Math.ceil((4 * (blur.sigmaMm + 2 * blur.uMm)) / fine);
  const cells = Math.ceil(((share.length - 1) * stepMm) / fine) + 1 + 2 * reach;
  const sharp = new Float64Array(cells);
  const kernel = new Float64Array(2 * reach + 1);
  const priors = 8;
  const uShare = 0.012;

  // tip, root, share of the flanks, its slope, bend of the flanks, end of the flanks, rounding of the root, blur, height of the metal
  const start = [
    guess.tipMm,
    guess.rootMm,
    Math.min(0.8, Math.max(0.2, share[share.length >> 1]!)),
    0,
    1.8,
    0.75,
    0.08,
    1,
    1,
  ];
  const prior = (p: Float64Array, out: Float64Array, at: number): void => {
    out[at] = (p[3]! - 0) / 0.3;
    out[at + 1] = (p[4]! - 1.8) / 0.6;
    out[at + 2] = (p[5]! - 0.75) / 0.25;
    out[at + 3] = (p[6]! - 0.08) / 0.08;
    out[at + 4] = ((p[7]! - 1) * blur.sigmaMm) / blur.uMm;
    out[at + 5] = (p[2]! - 0.45) / 0.3;
    out[at + 6] = (p[0]! - guess.tipMm) / (0.5 * depth);
    out[at + 7] = (p[8]! - 1) / 0.1;
  };
  const model = (p: Float64Array, out: Float64Array): void => {
    const [tip, root, flank, slope, bend, end, round, blurScale] = p as unknown as number[];
    sharpShare(sharp, fromMm - reach * fine, fine, tip!, root!, flank!, slope!, bend!, end!, round! * depth);
    const sigma = Math.max(0.3, blurScale!) * blur.sigmaMm;
    let total = 0;
    for (let i = -reach; i <= reach; i++) {
      const w = Math.exp(-0.5 * ((i * fine) / sigma) ** 2);
      kernel[i + reach] = w;
      total += w;
    }
    for (let j = 0; j < share.length; j++) {
      // Linear between fine cells: the parameters must move the model smoothly.
      const x = (j * stepMm) / fine + reach;
      const at = Math.floor(x);
      const f = x - at;
      let a = 0;
      let b = 0;
      for (let i = -reach; i <= reach; i++) {
        const w = kernel[i + reach]!;
        a += w * (sharp[at + i] ?? 0);
        b += w * (sharp[at + i + 1] ?? 0);
      }
      out[j] = (p[8]! * (a * (1 - f) + b * f)) / total;
    }
  };
  const fit = solveLeastSquares({
    residualCount: share.length + priors,
    start,
    scale: [0.05 * depth, 0.05 * depth, 0.05, 0.05, 0.2, 0.1, 0.03, 0.1, 0.02],
    residuals: (p, out) => {
      model(p, out);
      for (let j = 0; j < share.length; j++) out[j] = (out[j]! - share[j]!) / uShare;
      prior(p, out, share.length);
    },
  });
  if (!fit.ok) return undefined;
  const { params, covariance, residuals } = fit.value;
  let sum = 0;
  for (let j = 0; j < share.length; j++) sum += residuals[j]! ** 2;
  const excess = Math.max(1, Math.sqrt(sum / Math.max(1, share.length - 6)));
  const n = params.length;
  const [tipMm, rootMm] = [params[0]!, params[1]!];
  if (!(tipMm > rootMm) || Math.abs(tipMm - guess.tipMm) > depth || Math.abs(rootMm - guess.rootMm) > depth)
    return undefined;
  return {
    tipMm,
    rootMm,
    uTipMm: Math.sqrt(covariance[0]!) * excess,
    uRootMm: Math.sqrt(covariance[n + 1]!) * excess,
    halfMm: halfOf(params, depth),
    blurMm: params[7]! * blur.sigmaMm,
    rms: excess * uShare,
  };
}

/** The unblurred share on a fine grid. Flanks: straight from the root, then bending in towards the tip. */
function sharpShare(
  out: Float64Array,
  fromMm: number,
  stepMm: number,
  tip: number,
  root: number,
  flank: number,
  slope: number,
  bend: number,
  end: number,
  roundMm: number,
): void {
  const depth = tip - root;
  for (let i = 0; i < out.length; i++) {
    const r = fromMm + i * stepMm;
    const x = (r - root) / depth;
    let s: number;
    if (x <= 0) s = 1;
    else if (x >= 1) s = 0;
    else {
      s = flankShare(x, flank, slope, bend, end);
      // The root is filleted: the space closes over a short way, not at once.
      const q = (x * depth) / Math.max(1e-6, roundMm);
      if (q < 1) s = 1 - (1 - s) * Math.sqrt(q * (2 - q));
    }
    // A cell that the tip cuts counts in part, so that the model is smooth in the tip.
    const cut = (tip - r) / stepMm + 0.5;
    if (cut > 0 && cut < 1) s = Math.max(s, flankShare(Math.min(0.999, x), flank, slope, bend, end)) * cut;
    out[i] = Math.min(1, Math.max(0, s));
  }
}

/** Straight to 45 % of the depth (about the pitch circle), then (1 - t^bend)^end. */
function flankShare(x: number, flank: number, slope: number, bend: number, end: number): number {
  const knee = 0.45;
  const straight = flank + slope * (x - knee);
  if (x <= knee) return straight;
  const t = (x - knee) / (1 - knee);
  return straight * Math.max(0, 1 - t ** Math.max(0.5, bend)) ** Math.max(0.15, end);
}

function halfOf(p: Float64Array, depth: number): number | undefined {
  const share = (x: number): number => flankShare(x, p[2]!, p[3]!, p[4]!, p[5]!);
  if (!(share(0.1) > 0.5)) return undefined;
  let low = 0.1;
  let high = 0.999;
  for (let i = 0; i < 40; i++) {
    const x = 0.5 * (low + high);
    if (share(x) > 0.5) low = x;
    else high = x;
  }
  return p[1]! + low * depth;
}
