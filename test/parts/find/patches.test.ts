import { expect, test } from "vitest";
import { findPatches, type Patch } from "../../../src/parts/find/patches.js";
import { seededRandom } from "../../../src/quantity/index.js";
import { loadOpenCv } from "./open-cv.js";

const width = 90;
const height = 70;

/** Blots of all kinds: round ones with holes and patches in the holes, lines, single pixels, some cut by the frame. */
function blots(seed: number): Uint8Array {
  const random = seededRandom(seed);
  const mask = new Uint8Array(width * height);
  const draw = (x: number, y: number, radius: number, value: number): void => {
    for (let j = 0; j < height; j++)
      for (let i = 0; i < width; i++)
        if ((i - x) ** 2 + (j - y) ** 2 <= radius ** 2) mask[j * width + i] = value;
  };
  for (let k = 0; k < 6; k++) {
    const [x, y, r] = [width * random.uniform(), height * random.uniform(), 3 + 16 * random.uniform()];
    draw(x, y, r, 255);
    draw(x + 1, y, 0.7 * r, 0);
    draw(x, y, 0.4 * r, 255);
  }
  for (let k = 0; k < 250; k++)
    mask[Math.floor(mask.length * random.uniform())] = random.uniform() < 0.5 ? 255 : 0;
  return mask;
}

/** Source: OpenCV 4.3 (opencv-wasm): morphologyEx, findContours, boundingRect, convexHull, contourArea. */
function patchesOfOpenCv(pixels: Uint8Array, minRadius: number): Patch[] {
  const cv = loadOpenCv();
  const mask = new cv.Mat(height, width, cv.CV_8UC1);
  mask.data.set(pixels);
  const kernel = cv.getStructuringElement(cv.MORPH_ELLIPSE, new cv.Size(3, 3));
  const contours = new cv.MatVector();
  cv.morphologyEx(mask, mask, cv.MORPH_CLOSE, kernel);
  cv.findContours(mask, contours, new cv.Mat(), cv.RETR_EXTERNAL, cv.CHAIN_APPROX_NONE);
  const patches: Patch[] = [];
  for (let i = 0; i < contours.size(); i++) {
    const contour = contours.get(i);
    const box = cv.boundingRect(contour);
    if (Math.min(box.width, box.height) < 2 * minRadius * 0.8) continue;
    const hull = new cv.Mat();
    cv.convexHull(contour, hull, false, true);
    patches.push({
      contour: Int32Array.from(contour.data32S),
      hull: Int32Array.from(hull.data32S),
      areaPx: cv.contourArea(contour),
    });
  }
  return patches.sort((a, b) => b.areaPx - a.areaPx);
}

const pointsOf = (p: Int32Array): string[] =>
  Array.from({ length: p.length / 2 }, (_, i) => `${p[2 * i]},${p[2 * i + 1]}`);

function isPassedTwice(contour: Int32Array, hull: Int32Array): boolean {
  const all = pointsOf(contour);
  return pointsOf(hull).some((corner) => all.indexOf(corner) !== all.lastIndexOf(corner));
}

/** The same round of corners, begun where `like` begins. */
function turnedTo(hull: Int32Array, like: Int32Array): Int32Array {
  const start = 2 * Math.max(0, pointsOf(hull).indexOf(pointsOf(like)[0]!));
  return Int32Array.from([...hull.subarray(start), ...hull.subarray(0, start)]);
}

test("finds the patches that OpenCV finds, with the same borders and hulls, point by point", () => {
  let compared = 0;
  for (let seed = 1; seed <= 40; seed++) {
    const mask = blots(seed);
    for (const minRadius of [0, 4]) {
      const found = findPatches({ width, height }, { mask }, minRadius);
      const expected = patchesOfOpenCv(mask, minRadius);
      expect(found.map(({ contour, areaPx }) => ({ contour, areaPx }))).toEqual(
        expected.map(({ contour, areaPx }) => ({ contour, areaPx })),
      );
      found.forEach(({ contour, hull }, i) => {
        // Of a corner that the border passes twice, OpenCV's sorting decides which time counts.
        const other = isPassedTwice(contour, hull) ? turnedTo(expected[i]!.hull, hull) : expected[i]!.hull;
        expect(hull).toEqual(other);
        if (other === expected[i]!.hull) compared++;
      });
    }
  }
  expect(compared).toBeGreaterThan(500);
});

test("an empty mask has no patches, a full one a single one", () => {
  expect(findPatches({ width, height }, { mask: new Uint8Array(width * height) }, 0)).toEqual([]);
  const [all, ...others] = findPatches(
    { width, height },
    { mask: new Uint8Array(width * height).fill(255) },
    4,
  );
  expect(others).toEqual([]);
  expect(all?.areaPx).toBe((width - 1) * (height - 1));
});
