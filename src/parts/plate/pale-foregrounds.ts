import { foregroundFromClasses } from "../find/foreground-from-classes.js";
import type { AgainstBackground } from "../find/background.js";
import type { Classify } from "../find/find-round-parts.js";
import { foregroundByLightness, splitInTwo, type Foreground } from "../find/foreground.js";
import type { SmallPicture } from "../find/small-picture.js";

/**
 * Nickel is redder than paper by 0.05 to 0.1, nearly grey patina by 0.2, where single pixels are noise of as much: means of
 * so many small pixels to both sides are compared.
 */
const faintRange = [0.03, 0.2] as const;
const reachPx = 2;
/** Grey metal beside its own shadow: the two are told apart where there is so much between them, logarithm. */
const leastApart = 0.25;

/**
 * What may be metal with hardly a colour, or none: by faint colour, which shadows have not; by lightness; by the network; what
 * is told by lightness in a lighter and a darker part, since a shadow is seldom as dark as the metal that throws it.
 */
export async function* paleForegrounds(
  picture: SmallPicture,
  against: AgainstBackground,
  where: Uint8Array,
  classify: Classify | undefined,
): AsyncGenerator<Foreground> {
  yield byFaintColour(picture, against, where);
  const whole = foregroundByLightness(against, where);
  yield whole;
  const { width, height, rgb } = picture;
  const classes = await classify?.({ widthPx: width, heightPx: height, rgb });
  if (classes !== undefined) yield foregroundFromClasses(picture, classes, where);
  const { lightness } = against;
  const cut = splitInTwo(
    lightness.map((l) => Math.max(0, -l)),
    whole.mask,
    leastApart,
    4,
  );
  const partOf = (isPart: (l: number) => boolean): Foreground => ({
    ...whole,
    mask: whole.mask.map((m, p) => (m !== 0 && isPart(lightness[p]!) ? 255 : 0)),
  });
  yield partOf((l) => -l < cut);
  yield partOf((l) => -l >= cut);
}

function byFaintColour(
  { width, height }: SmallPicture,
  { redGreen, greenBlue }: AgainstBackground,
  where: Uint8Array,
): Foreground {
  const warm = redGreen.map((rg, p) => (rg + 2 * greenBlue[p]!) / Math.sqrt(5));
  const even = boxMean(boxMean(warm, width, 1, height, width), height, width, width, 1);
  const cut = splitInTwo(
    even.map((w) => Math.max(0, w)),
    where,
    ...faintRange,
  );
  const mask = where.map((v, p) => (v !== 0 && even[p]! > cut ? 255 : 0));
  return { reason: "colour", mask, shadowy: false };
}

/** Running mean along lines of `count` values `step` apart; the lines begin `next` apart. */
function boxMean(
  values: Float32Array,
  count: number,
  step: number,
  lines: number,
  next: number,
): Float32Array {
  const out = new Float32Array(values.length);
  for (let line = 0; line < lines; line++) {
    const first = line * next;
    let [sum, n] = [0, 0];
    for (let k = -reachPx; k < count; k++) {
      if (k + reachPx < count) [sum, n] = [sum + values[first + (k + reachPx) * step]!, n + 1];
      if (k - reachPx > 0) [sum, n] = [sum - values[first + (k - reachPx - 1) * step]!, n - 1];
      if (k >= 0) out[first + k * step] = sum / n;
    }
  }
  return out;
}
