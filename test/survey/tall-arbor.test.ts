import { describe, expect, it } from "vitest";
import type { HubPicture, WheelMarks } from "../../src/parts/index.js";
import type { WheelPhoto } from "../../src/survey/set-photo.js";
import { arborHeightMm } from "../../src/survey/play/arbor-height.js";
import { readPlay } from "../../src/survey/play/read-play.js";
import { inventedMarks } from "./invented-marks.js";

const up = 300;
const degree = Math.PI / 180;

/** A tight pinion of 8 leaves, 1 to 6 mm over the face, with a rod on it that ends 14 mm up, seen along `lean`. */
function tallPinion([gx, gy]: readonly [number, number]): HubPicture {
  const size = 161;
  const stepMm = 0.1;
  const bare = new Float32Array(size * size);
  const middle = (size - 1) / 2;
  for (let j = 0; j < size; j++)
    for (let i = 0; i < size; i++) {
      let most = 0;
      for (let z = 1; z <= 14; z += 0.25) {
        const x = (i - middle) * stepMm - z * gx;
        const y = (j - middle) * stepMm - z * gy;
        const leaf = Math.max(0, Math.cos(8 * Math.atan2(y, x)));
        const edge = z <= 6 ? 1.4 + Math.min(1, 1.6 * leaf) : 0.9;
        most = Math.max(most, 1 / (1 + Math.exp((Math.hypot(x, y) - edge) / 0.12)));
      }
      bare[j * size + i] = most;
    }
  return { size, stepMm, light: new Uint8Array(size * size), bare };
}

function seenAlong(lean: readonly [number, number], k: number): WheelPhoto {
  const marks: WheelMarks = {
    ...inventedMarks({ crossings: 4 }),
    cameraMm: [-lean[0] * up, -lean[1] * up, up + 1.9],
    hub: tallPinion(lean),
  };
  return { file: `side-${k}.jpg`, marks };
}

const twists = (leans: readonly (readonly [number, number])[]) => {
  const read = readPlay(leans.map(seenAlong));
  if (!read.ok) throw new Error("no arbor");
  return read.readings.map(({ twistRad, uTwistRad }) => ({ twistRad, uTwistRad }));
};

describe("a tight wheel with a tall pinion, photographed from several sides", () => {
  const sides = [
    [0.15, 0.1],
    [0, 0.08],
    [-0.05, 0.13],
    [0.19, -0.13],
    [-0.2, -0.1],
  ] as const;

  it("looks twisted by degrees, and that is what is allowed for", () => {
    const seen = twists(sides);
    expect(Math.max(...seen.map((t) => Math.abs(t.twistRad)))).toBeGreaterThan(1 * degree);
    for (const { twistRad, uTwistRad } of seen) expect(Math.abs(twistRad)).toBeLessThan(2 * uTwistRad);
  });

  it("from one place a tenth as much is allowed for", () => {
    const still = twists([sides[0], sides[0], sides[0]]);
    const moved = twists(sides);
    expect(still[1]!.uTwistRad).toBeLessThan(0.1 * moved[2]!.uTwistRad);
  });
});

describe("how high an arbor stands over the face", () => {
  it("is what its place does with the camera's", () => {
    const leans = [
      [0, 0],
      [0.2, 0.1],
      [-0.1, 0.15],
    ] as const;
    expect(
      arborHeightMm(
        leans.map(([x, y]) => [0.3 + 5 * x, -0.2 + 5 * y]),
        leans,
      ),
    ).toBeCloseTo(5, 9);
  });

  it("is not told by a camera that stood still", () => {
    const leans = [
      [0.1, 0],
      [0.105, 0],
    ] as const;
    expect(
      arborHeightMm(
        [
          [0, 0],
          [0.3, 0],
        ],
        leans,
      ),
    ).toBeUndefined();
  });
});
