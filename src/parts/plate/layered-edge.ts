/**
 * An edge with a bevel, seen along a line across it, blurred: face, bevel, inside.
 *
 *     face A ______                    A bevel lies in another light than the face, and on the dark side of a hole it
 *                  \__ bevel B         passes for the inside at half height: a tenth of a millimetre at every edge.
 *                     |                Blur and usual width of a bevel are known; its brightness and the edge are
 *                     |____ inside I   fitted.
 *          r0 + b    r0
 */
export interface LayeredEdgeOptions {
  /** Standard deviation of the blur, in samples. */
  readonly sigma: number;
  /** Width of the bevel as it is seen, in samples. */
  readonly bevel: number;
  /** Samples looked at, inwards and outwards of the place where the edge is supposed. */
  readonly inwards: number;
  readonly outwards: number;
}

/** Bevels are a little darker than the face, or much; brighter now and then. Shares of the face's level. */
const usualBevel = 0.8;
const uBevel = 0.3;
/** Brushed and scratched metal, share of its level a sample. */
const texture = 0.04;
const searchSteps = 0.15;

/**
 * Place of the edge of a part (r0 above), in samples along `profile`, which rises outwards from the inside to the face.
 *
 * @param start where half height puts the edge; @param faceLevel of the face beyond.
 * @returns undefined where the profile ends too soon.
 */
export function layeredEdge(
  profile: Float64Array,
  start: number,
  faceLevel: number,
  options: LayeredEdgeOptions,
): number | undefined {
  const from = Math.ceil(start - options.inwards);
  const to = Math.floor(start + options.outwards);
  if (from < 0 || to >= profile.length) return undefined;
  let best = Infinity;
  let at: number | undefined;
  const reach = options.bevel + options.sigma;
  for (let r0 = start - reach; r0 <= start + 0.6 * options.sigma; r0 += searchSteps) {
    const misfit = misfitAt(profile, from, to, r0, faceLevel, options);
    if (misfit < best) {
      best = misfit;
      at = r0;
    }
  }
  return at;
}

function misfitAt(
  profile: Float64Array,
  from: number,
  to: number,
  r0: number,
  face: number,
  { sigma, bevel }: LayeredEdgeOptions,
): number {
  // Normal equations for the levels of face, bevel and inside, with what is usual of a bevel.
  const w = 1 / (texture * face) ** 2;
  const prior = 1 / (uBevel * face) ** 2;
  let [aa, ab, ai, bb, bi, ii] = [0, 0, 0, prior, 0, 1e-9];
  let [ra, rb, ri] = [0, prior * usualBevel * face, 0];
  let total = prior * (usualBevel * face) ** 2;
  for (let k = from; k <= to; k++) {
    const outer = normalShare((r0 + bevel - k) / sigma);
    const inner = normalShare((r0 - k) / sigma);
    const [a, b, i, p] = [1 - outer, outer - inner, inner, profile[k]!];
    aa += w * a * a;
    ab += w * a * b;
    ai += w * a * i;
    bb += w * b * b;
    bi += w * b * i;
    ii += w * i * i;
    ra += w * a * p;
    rb += w * b * p;
    ri += w * i * p;
    total += w * p * p;
  }
  const det = aa * (bb * ii - bi * bi) - ab * (ab * ii - bi * ai) + ai * (ab * bi - bb * ai);
  if (!(Math.abs(det) > 1e-12)) return Infinity;
  const A = (ra * (bb * ii - bi * bi) - ab * (rb * ii - bi * ri) + ai * (rb * bi - bb * ri)) / det;
  const B = (aa * (rb * ii - bi * ri) - ra * (ab * ii - bi * ai) + ai * (ab * ri - rb * ai)) / det;
  const I = (aa * (bb * ri - rb * bi) - ab * (ab * ri - rb * ai) + ra * (ab * bi - bb * ai)) / det;
  return total - A * ra - B * rb - I * ri;
}

/** Distribution function of the normal law; logistic approximation, within 0.01. */
const normalShare = (z: number): number => 1 / (1 + Math.exp(-z * (1.5976 + 0.07056 * z * z)));
