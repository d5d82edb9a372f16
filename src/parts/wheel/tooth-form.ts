/** The outline of a tooth between its root and its tip. */
export interface ToothForm {
  readonly rootMm: number;
  readonly tipMm: number;
  /** Radius of the corners of a space, as a share of the depth. */
  readonly fillet: number;
  /** Share of the pitch that is metal at a share of the depth, 0 at the root and 1 at the tip. */
  shareAt(depth: number): number;
}

/**
 * Share of the pitch that is metal at radius fromMm + i stepMm: 1 inside the root, 0 outside the tip. A cell that root
 * or tip cuts counts in part, so that what is drawn moves smoothly with both.
 */
export function writeShares(out: Float64Array, fromMm: number, stepMm: number, form: ToothForm): void {
  const { rootMm, tipMm, fillet } = form;
  const cell = stepMm / (tipMm - rootMm);
  for (let i = 0; i < out.length; i++) {
    const x = (fromMm + i * stepMm - rootMm) / (tipMm - rootMm);
    const above = Math.min(1, Math.max(0, x / cell + 0.5));
    let s = 1;
    if (above > 0) {
      const at = Math.max(0.25 * cell * above, x);
      s = at >= 1 ? 0 : form.shareAt(at);
      const q = at / Math.max(1e-6, fillet);
      if (q < 1) s += Math.min(1 - s, 2 * fillet) * (1 - Math.sqrt(q * (2 - q)));
      const cut = (1 - x) / cell + 0.5;
      if (cut > 0 && cut < 1) s = form.shareAt(Math.min(1 - 0.25 * cell, x)) * cut;
      s = 1 + above * (s - 1);
    }
    out[i] = Math.min(1, Math.max(0, s));
  }
}

/** What is left of the width under a tip whose corners are rounded over a share of the depth. */
export function roundedTip(depth: number, rounding: number): number {
  const q = (depth - 1 + rounding) / Math.max(1e-6, rounding);
  return q > 0 ? Math.sqrt(Math.max(0, 1 - q * q)) : 1;
}
