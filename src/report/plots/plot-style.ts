/** Plots are drawn in ink on paper: greys and dashes only, so that any print shows them. */
export const ink = "#1b1a17";
export const grey = "#6b665c";
export const faint = "#d5d0c5";
export const fontSize = 12;

export const sans = "'Source Sans 3', system-ui, DejaVu Sans, Verdana, Arial, sans-serif";

/** One decimal is finer than any print. */
export const px = (v: number): number => Math.round(v * 10) / 10;

/** A round step (1, 2 or 5 times a power of ten) so that `span` has at most `most` of them. */
export function roundStep(span: number, most: number): number {
  const raw = span / most;
  const power = 10 ** Math.floor(Math.log10(raw));
  const factor = [1, 2, 5, 10].find((f) => f * power >= raw * (1 - 1e-9)) ?? 10;
  return factor * power;
}

/** Decimals that show a step. */
export const decimalsOf = (step: number): number => Math.max(0, -Math.floor(Math.log10(step) + 1e-9));

/** What a plot magnifies by: 1, 2 or 5 times a power of ten, not above `v`, and not below 1. */
export function roundMagnification(v: number): number {
  const power = 10 ** Math.floor(Math.log10(Math.max(1, v)));
  return ([5, 2, 1].find((f) => f * power <= Math.max(1, v)) ?? 1) * power;
}
