import type { FaceRaster } from "./face-raster.js";

/** Where a photograph does not show the wheel. */
const paper = 236;
/** Range that brightness is drawn out to; both ends are left to what differs. */
const darkest = 20;
const lightest = 245;
/** Dark metal is lifted, for tints do not show in the dark. */
const lifted = 0.65;

/**
 * Two pictures in one: orange where the first is lighter, blue where the second is, grey where they are alike. The
 * hues are complementary, and told apart by those who confuse red and green.
 *
 * @returns red, green, blue, row-major.
 */
export function inTwoTints(first: FaceRaster, second: FaceRaster): Uint8Array {
  const both = first.seen.map((s, p) => s & second.seen[p]!);
  const a = drawnOut(first.light, both);
  const b = drawnOut(second.light, both);
  const rgb = new Uint8Array(3 * both.length);
  for (let p = 0; p < both.length; p++) {
    const [r, blue] = both[p] ? [a[first.light[p]!]!, b[second.light[p]!]!] : [paper, paper];
    rgb[3 * p] = r;
    rgb[3 * p + 1] = (r + blue) / 2;
    rgb[3 * p + 2] = blue;
  }
  return rgb;
}

/** Code values so that the darkest and the lightest hundredth of what both show lie at the ends: exposures differ. */
function drawnOut(light: Uint8Array, both: Uint8Array): Uint8Array {
  const counts = new Float64Array(256);
  let all = 0;
  for (let p = 0; p < light.length; p++) {
    if (both[p] === 0) continue;
    counts[light[p]!]!++;
    all++;
  }
  const at = (share: number): number => {
    let sum = 0;
    for (let v = 0; v < 256; v++) {
      sum += counts[v]!;
      if (sum > share * all) return v;
    }
    return 255;
  };
  const [low, high] = [at(0.01), at(0.99)];
  return Uint8Array.from({ length: 256 }, (_, v) =>
    Math.round(
      darkest +
        (lightest - darkest) * Math.min(1, Math.max(0, (v - low) / Math.max(1, high - low))) ** lifted,
    ),
  );
}
