import { medianOf } from "../../fit/index.js";
import type { FaceSampler } from "../face-sampler.js";
import { luminanceFrom } from "../contrast.js";

export interface PlateColours {
  /** Linear light of the face and of the paper. */
  readonly metal: readonly [number, number, number];
  readonly neutral: readonly [number, number, number];
}

/**
 * Two readings of the same place of a plate, both 1 on its bare face, both linear in the light: how bright it is, and
 * how much light of the face's own colour comes from there. The second is 0 on paper and on anything dark, so that
 * paper seen through a hole is as far from metal as a black hole is. But pictures store colour at half resolution:
 * where the inside is dark, brightness is the sharper of the two.
 *
 * Steel, nickel and grey patina have no colour of their own. There the second reading is how near the light is to that of
 * the face, on the way to the light of paper: 0 on paper and on anything dark, too.
 */
export interface PlateSignal extends PlateColours {
  readonly hasColour: boolean;
  readonly light: (s: FaceSampler) => number;
  readonly colour: (s: FaceSampler) => number;
}

/** Face whose colour is so near to that of the paper has no colour of its own. */
const leastColour = 0.12;
/** Without colour, paper must be so much lighter or darker than the face. */
const leastContrast = 1.3;

/**
 * @param face linear light r, g, b ... over the face; @param neutral linear light of the paper.
 * @param mayBeGrey go by lightness where there is no colour.
 * @returns undefined where the face is hardly coloured, or as light as the paper as well, or was not seen.
 */
export function learnPlateSignal(
  face: readonly number[],
  neutral: readonly [number, number, number],
  mayBeGrey = false,
): PlateSignal | undefined {
  if (face.length < 60) return undefined;
  const channel = (c: number): number => medianOf(face.filter((_, i) => i % 3 === c));
  const metal = [channel(0), channel(1), channel(2)] as const;
  // Red and green against blue, weighed so that paper of any brightness gives nothing.
  const warmth = (r: number, g: number, b: number): number =>
    0.5 * (r / neutral[0] + g / neutral[1]) - b / neutral[2];
  const span = warmth(metal[0], metal[1], metal[2]);
  const bright = luminanceFrom(...metal);
  const paper = luminanceFrom(...neutral);
  const brightness = (s: FaceSampler): number => luminanceFrom(s.red, s.green, s.blue) / bright;
  if (!(span > (leastColour * bright) / paper)) {
    const white = paper / bright;
    if (!mayBeGrey || Math.max(white, 1 / white) < leastContrast) return undefined;
    return {
      metal,
      neutral,
      hasColour: false,
      light: brightness,
      colour: (s) => {
        const light = brightness(s);
        const onWay = (light - white) / (1 - white);
        return white > 1 ? Math.min(light, onWay) : Math.min(1, onWay);
      },
    };
  }
  return {
    metal,
    neutral,
    hasColour: true,
    light: brightness,
    colour: (s) => warmth(s.red, s.green, s.blue) / span,
  };
}
