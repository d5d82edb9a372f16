import { expect, test } from "vitest";
import type { WheelMarks } from "../../src/parts/index.js";
import { steelPictures } from "../../src/survey/arbor/steel-picture.js";
import { inventedMarks } from "./invented-marks.js";

/** Paper at 200 of 255 round an arbor of this lightness. */
function lit(steel: number): WheelMarks {
  const marks = inventedMarks();
  const light = new Uint8Array(marks.hub.light.length).fill(200);
  marks.hub.bare.forEach((bare, p) => {
    if (bare > 0.5) light[p] = steel;
  });
  // What lies beyond the hub is bare paper again.
  const bare = marks.hub.bare.map((b, p) => (b > 0.5 || p < 40 * marks.hub.size ? 1 : 0));
  return {
    ...marks,
    hub: { ...marks.hub, light, bare },
    face: { ...marks.face, light: new Uint8Array(marks.face.light.length).fill(200) },
  };
}

test("paper is taken out round a dark arbor, and the arbor stays", () => {
  const marks = lit(90);
  const [picture] = steelPictures([marks, lit(95)]);
  const middle = 60 * marks.hub.size + 60;
  expect(picture!.bare[middle]).toBeCloseTo(1, 6);
  expect(picture!.bare[5 * marks.hub.size + 5]).toBeCloseTo(0, 6);
});

test("an arbor as light as the paper in one photograph: none of the set loses its paper, or they would not compare", () => {
  const photos = [lit(150), lit(170), lit(172)];
  expect(steelPictures(photos.slice(0, 1))[0]!.bare).not.toEqual(photos[0]!.hub.bare);
  steelPictures(photos).forEach(({ bare }, k) => expect(bare).toEqual(photos[k]!.hub.bare));
});
