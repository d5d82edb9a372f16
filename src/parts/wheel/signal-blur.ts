import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import type { Contrast } from "../contrast.js";

/** Blur that sampling adds to that of the lens, px. */
const samplingPx = 0.5;
/**
 * Square of the blur of colour that is stored at half resolution, px: 1.0 for the mean of four pixels and for what a
 * decoder draws between such means, 0.4 (squared) for sampling; the rest is compression, which rounds the fine detail
 * of colour away: found on edges of metal against paper, compressed to qualities 30 to 95.
 */
const halvedColour = { least: 1.16, perStep: 4.3, mostSteps: 1 };
/** As phones store it, where the file does not say. */
const usualColourSteps = 0.2;
/** What sampling has part in `halvedColour`, px. */
const samplingOfHalvedPx = 0.4;
const leastLensPx = 0.35;

/** Of the lens and the pixel, standard deviation, px. */
export const lensBlurPx = (view: View): number => Math.max(leastLensPx, view.edge.blurSigmaPx);

/** Of the signal of a contrast as it is sampled: lens, stored colour, sampling; standard deviation, px. */
export const signalBlurPx = (view: View, photo: Photo, contrast: Contrast): number =>
  Math.hypot(
    lensBlurPx(view),
    contrast.growth !== 0 && photo.colourHalved ? halvedColourPx(photo.colourSteps) : samplingPx,
  );

const halvedColourPx = (steps = usualColourSteps): number =>
  Math.sqrt(halvedColour.least + halvedColour.perStep * Math.min(halvedColour.mostSteps, steps));

/** Blur that storing colour adds to that of brightness, standard deviation, px. */
export const storedColourBlurPx = ({ colourHalved, colourSteps }: Photo): number =>
  colourHalved ? Math.sqrt(halvedColourPx(colourSteps) ** 2 - samplingOfHalvedPx ** 2) : 0;
