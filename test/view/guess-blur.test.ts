import { expect, test } from "vitest";
import { guessBlurSigmaPx } from "../../src/view/guess-blur.js";
import { LinearLight } from "../../src/view/linear-light.js";
import { blur, encode, photoOf } from "./photograph-mat.js";

/** Dark discs on a light ground, area-sampled 4 x 4, then blurred in linear light. */
function discs(sigmaPx: number): ReturnType<typeof photoOf> {
  const width = 640;
  const height = 480;
  const linear = new Float32Array(width * height);
  for (let v = 0; v < height; v++) {
    for (let u = 0; u < width; u++) {
      let inside = 0;
      for (let i = 0; i < 16; i++) {
        const x = u - 0.375 + 0.25 * (i % 4);
        const y = v - 0.375 + 0.25 * Math.floor(i / 4);
        if (Math.hypot(((x + 80) % 160) - 80, ((y + 80) % 160) - 80) < 50.3) inside++;
      }
      linear[v * width + u] = 0.7 - (0.6 * inside) / 16;
    }
  }
  blur(linear, width, height, sigmaPx);
  return photoOf(
    Uint8Array.from({ length: 3 * linear.length }, (_, i) => encode(linear[Math.floor(i / 3)]!)),
    width,
    height,
  );
}

test.each([0.5, 0.8, 1.2, 2])("guesses a blur of %d px from the edges in the picture", (sigmaPx) => {
  const photo = discs(sigmaPx);
  const guessed = guessBlurSigmaPx(photo, new LinearLight(photo))!;
  // Lens and pixel together. A guess good to a fifth is all that narrow tips need; the sharpest edges are drawn by
  // the raster as much as by the blur.
  expect(Math.abs(guessed / Math.hypot(sigmaPx, 1 / Math.sqrt(12)) - 1)).toBeLessThan(0.2);
});

test("says nothing about a picture without edges", () => {
  const photo = photoOf(new Uint8Array(3 * 300 * 200).fill(100), 300, 200);
  expect(guessBlurSigmaPx(photo, new LinearLight(photo))).toBeUndefined();
});
