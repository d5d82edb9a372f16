import { expect, test } from "vitest";
import type { Part } from "../../src/parts/index.js";
import type { KnownPhoto, KnownWheel } from "../accuracy/known-photo.js";
import type { CountVerdict } from "../accuracy/wheel-outcome.js";
import { peerTable, tallyOfOurs, tallyOfPeer } from "./peer-table.js";

// Three wheels of 40 mm (400 px), 500 px apart.
const wheelAt = (u: number, toothCount: number): KnownWheel => ({
  label: "",
  toothCount,
  isCountWheel: false,
  centrePx: [u, 0],
  centreMm: [u / 10, 0],
  faceHeightMm: 1,
  tipDiameterMm: 40,
  rootDiameterMm: 36,
  ovalityMm: 0,
  leanRad: 0,
  pxPerMm: 10,
  pxPerTooth: 16,
  fromFootMm: 0,
  rimSeen: 1,
});
const wheels = [wheelAt(0, 60), wheelAt(500, 72), wheelAt(1000, 84)];
const photo: KnownPhoto = { kind: "tray", path: "x.jpg", onMat: true, bars: {}, wheels, plateCount: 0 };
const took = (wallMs: number) => ({ wallMs, processorMs: 2 * wallMs });
const peerPart = (u: number, count: number) => ({ centre: [u, 3] as const, radius: 200, count });

test("the script's every count is a claim: right, wrong, or of no wheel", () => {
  const tally = tallyOfPeer(photo, [peerPart(1, 60), peerPart(502, 71), peerPart(5000, 9)], took(10));
  expect(tally).toEqual({ wheels: 3, right: 1, wrong: 1, ofNoWheel: 1, ...took(10) });
});

test("of this program only counts stated as sure are claims", () => {
  const outcome = (w: number, verdict: CountVerdict) => ({ wheel: wheels[w]!, verdict, errors: [] });
  const found = (probability: number) => ({ teeth: { count: 9, probability } }) as unknown as Part;
  const tally = tallyOfOurs(
    {
      photo,
      // The third wheel is hardly in view, was not found, and so has no outcome.
      wheels: [outcome(0, "confidently wrong"), outcome(1, "not sure, but right")],
      falseParts: [found(0.94), found(0.95)],
    },
    took(10),
  );
  expect(tally).toEqual({ wheels: 3, right: 0, wrong: 1, ofNoWheel: 1, ...took(10) });
});

test("adds photographs up, and takes the middle of their times", () => {
  const tally = (right: number, wrong: number, wallMs: number) => ({
    wheels: 3,
    right,
    wrong,
    ofNoWheel: 1,
    ...took(wallMs),
  });
  const table = peerTable([["script", [tally(2, 1, 500), tally(1, 0, 9000), tally(3, 0, 1500)]]]);
  const row = table
    .split("\n")[2]!
    .split("|")
    .map((cell) => cell.trim());
  expect(row.slice(1, -1)).toEqual(["script", "3", "9", "6", "1", "2", "3", "1.50 s", "3.00 s"]);
});
