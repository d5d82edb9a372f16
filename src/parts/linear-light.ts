/**
 * sRGB code value (0..255) to linear light (0..1). IEC 61966-2-1.
 * Blur adds up in linear light, so half height means half covered only there.
 */
export const linearFromSrgb: Float32Array = Float32Array.from({ length: 256 }, (_, code) => {
  const v = code / 255;
  return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
});

/** The inverse, not rounded. */
export const codeFromLinear = (v: number): number =>
  255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055);
