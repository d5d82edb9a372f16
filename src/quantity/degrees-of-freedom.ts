import { standardUncertainty, type InputId, type Quantity, type Unit } from "./quantity.js";

/**
 * Effective degrees of freedom of a combined uncertainty (Welch-Satterthwaite), not rounded; Infinity if all of
 * the uncertainty comes from inputs that are not in the map.
 *
 * @param degreesOfFreedom of each input that was estimated from few observations; others count as known.
 * Source: JCGM 100:2008, G.4.1.
 */
export function effectiveDegreesOfFreedom(
  q: Quantity<Unit>,
  degreesOfFreedom: ReadonlyMap<InputId, number>,
): number {
  let sum = 0;
  for (const [id, term] of q.terms) sum += term ** 4 / (degreesOfFreedom.get(id) ?? Infinity);
  return standardUncertainty(q) ** 4 / sum;
}

/**
 * Coverage factor: the two-sided quantile of the t distribution, so that value +- k u has probability `coverage`.
 *
 * @param degreesOfFreedom above 0; Infinity for the normal distribution. JCGM 100, G.6.4: round down first.
 * @param coverage between 0 and 1; default 0.95.
 * @throws RangeError if either is out of range.
 * Source: JCGM 100:2008, table G.2, for check values.
 */
export function coverageFactor(degreesOfFreedom: number, coverage = 0.95): number {
  if (!(degreesOfFreedom > 0)) {
    throw new RangeError(`degrees of freedom: expected more than 0, received ${degreesOfFreedom}`);
  }
  if (!(coverage > 0 && coverage < 1)) {
    throw new RangeError(`coverage: expected a number between 0 and 1, received ${coverage}`);
  }
  // P(|t| <= k) rises with k: bracket, then halve.
  let low = 0;
  let high = 1;
  while (probabilityWithin(high, degreesOfFreedom) < coverage && high < 1e300) high *= 2;
  for (let i = 0; i < 200 && high - low > 1e-14 * high; i++) {
    const middle = (low + high) / 2;
    if (probabilityWithin(middle, degreesOfFreedom) < coverage) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** P(|t| <= k) with nu degrees of freedom. */
function probabilityWithin(k: number, nu: number): number {
  // Beyond a million degrees of freedom, t differs from normal by less than 1e-6 of itself.
  if (nu > 1e6) return 1 - regularisedGammaUpperHalf((k * k) / 2);
  return 1 - regularisedBeta(nu / (nu + k * k), nu / 2, 0.5);
}

/** Q(1/2, x) = erfc(sqrt x): series for small x, continued fraction (Lentz) beyond. */
function regularisedGammaUpperHalf(x: number): number {
  const front = Math.sqrt(x / Math.PI) * Math.exp(-x);
  if (x < 1.5) {
    let term = 2;
    let sum = term;
    for (let i = 1; i < 200 && term > 1e-17 * sum; i++) {
      term *= x / (i + 0.5);
      sum += term;
    }
    return 1 - front * sum;
  }
  let b = x + 0.5;
  let c = 1e300;
  let d = 1 / b;
  let h = d;
  for (let i = 1; i < 500; i++) {
    const a = -i * (i - 0.5);
    b += 2;
    d = 1 / (a * d + b);
    c = b + a / c;
    const delta = c * d;
    h *= delta;
    if (Math.abs(delta - 1) < 1e-16) break;
  }
  return front * h;
}

/** I_x(a, b) by its continued fraction (Lentz). */
function regularisedBeta(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  // The fraction converges fast only below the mean.
  if (x > (a + 1) / (a + b + 2)) return 1 - regularisedBeta(1 - x, b, a);
  const front =
    Math.exp(a * Math.log(x) + b * Math.log1p(-x) + logGamma(a + b) - logGamma(a) - logGamma(b)) / a;
  let c = 1;
  let d = 1 / (1 - ((a + b) * x) / (a + 1));
  let h = d;
  for (let m = 1; m < 10_000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / (1 + even * d);
    c = 1 + even / c;
    h *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / (1 + odd * d);
    c = 1 + odd / c;
    h *= d * c;
    if (Math.abs(d * c - 1) < 1e-15) break;
  }
  return front * h;
}

/** Stirling's series, after stepping the argument up to where it holds to double precision. */
function logGamma(x: number): number {
  let shift = 0;
  while (x < 12) shift -= Math.log(x++);
  const y = 1 / (x * x);
  const series = (1 / 12 - y * (1 / 360 - y * (1 / 1260 - y * (1 / 1680 - y / 1188)))) / x;
  return shift + (x - 0.5) * Math.log(x) - x + 0.5 * Math.log(2 * Math.PI) + series;
}
