import sharp from "sharp";
import { expect, test } from "vitest";
import { readPhotoBytes } from "../../src/photo/index.js";
import { readColourSteps } from "../../src/photo/read-colour-steps.js";
import { quarters } from "./test-pictures.js";

// The usual encoders scale the standard's table by (200 - 2 quality) / 100 from quality 50 on, rounded to whole steps.
test.each([
  [50, 1],
  [75, 0.5],
  [90, 0.2],
  [95, 0.1],
])("quality %i has %f of the standard's steps", async (quality, steps) => {
  expect(readColourSteps(await quarters().jpeg({ quality }).toBuffer())).toBeCloseTo(steps, 1);
});

test("progressive files and those with EXIF before the tables say it too", async () => {
  const plain = readColourSteps(await quarters().jpeg({ quality: 80 }).toBuffer());
  const progressive = await quarters()
    .jpeg({ quality: 80, progressive: true, optimiseCoding: true })
    .withExif({ IFD0: { Make: "none" } })
    .toBuffer();
  expect(readColourSteps(progressive)).toBeCloseTo(plain!, 6);
});

test("a photograph carries it; other formats, grey and cut files do not", async () => {
  const jpeg = await quarters().jpeg({ quality: 80 }).toBuffer();
  const read = await readPhotoBytes(jpeg, "x.jpg");
  expect(read.ok && read.value.colourSteps).toBeCloseTo(0.4, 1);
  const png = await readPhotoBytes(await quarters().png().toBuffer(), "x.png");
  expect(png.ok && "colourSteps" in png.value).toBe(false);
  expect(
    readColourSteps(await sharp(jpeg).greyscale().toColourspace("b-w").jpeg().toBuffer()),
  ).toBeUndefined();
  for (let length = 0; length < 200; length++) readColourSteps(jpeg.subarray(0, length));
  expect(readColourSteps(jpeg.subarray(0, 150))).toBeUndefined();
});
