import type { ToothDepth } from "./fit-tooth-depth.js";

/**
 * How teeth of train wheels look when nothing but the lens has touched them: by the form of BS 978-2 the addendum of
 * any wheel of 30 to 120 teeth for 6 to 12 leaves bends by 1.5 to 1.6. Half a pitch thick, they look a twentieth
 * thicker in most light.
 */
const usual = { flank: 0.55, bend: 1.54 };
/**
 * Px for a share of the pitch, px for the bend, mm for all: half of what photographs of two renderers ask for, for on
 * others the whole of it was too much as often as too little.
 */
const pxPerShare = 1.3;
const pxPerBend = -0.4;
const bevelMm = -0.015;
const mostPx = 0.5;

/**
 * How far a tip is seen outside its place, px (less than nothing: inside it). Bevels that lie dark or glint, walls
 * that look out from below and spaces in shade make teeth look thin or thick, the tip with the rest of the tooth; and
 * at the tip both bevels meet in a ridge, darker than the face as a rule.
 */
export function tipSpillPx({ flank, bend }: Pick<ToothDepth, "flank" | "bend">, pxPerMm: number): number {
  const spill = bevelMm * pxPerMm + pxPerShare * (flank - usual.flank) + pxPerBend * (bend - usual.bend);
  return Math.min(mostPx, Math.max(-mostPx, spill));
}
