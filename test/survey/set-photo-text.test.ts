import { describe, expect, test } from "vitest";
import { readSetPhoto, setPhotoText, type SetPhoto } from "../../src/survey/index.js";
import { inventedMarks } from "./invented-marks.js";

const photo: SetPhoto = {
  file: "turn-T2/1.jpg",
  sha256: "ab".repeat(32),
  wheels: [
    {
      ...inventedMarks({ turnRad: 0.3, label: "T2" }),
      centreTerms: [{ id: "pose:1-abcd", dxMm: 0.1, dyMm: -0.2, cameraMm: [1, 2, 3] }],
      teeth: [{ angleRad: 0.1, state: "short", tipDeviationMm: -0.4, indexDeviationMm: 0 }],
      shifts: [{ angleRad: 0.1, outMm: 0.01, alongMm: 1e-7 }],
    },
  ],
  cards: ["TURN", "T2"],
  onMat: true,
  leaning: 1,
};

test("what a photograph gives for its set comes back from a file unchanged, under the name that it has now", () => {
  expect(readSetPhoto(setPhotoText(photo), "elsewhere/2.jpg")).toEqual({ ...photo, file: "elsewhere/2.jpg" });
});

describe("a kept file that was swapped, cut short or made up is as good as none", () => {
  const text = setPhotoText(photo);
  const changed = (change: (value: { wheels: Record<string, unknown>[] }) => void): string => {
    const value = JSON.parse(text) as { wheels: Record<string, unknown>[] };
    change(value);
    return JSON.stringify(value);
  };
  test.each([
    ["nothing", ""],
    ["half of it", text.slice(0, text.length / 2)],
    ["another version", text.replace("set-photo/2", "set-photo/1")],
    [
      "a picture of the wrong size",
      changed(({ wheels: [w] }) => void ((w!["hub"] as { size: number }).size = 7)),
    ],
    [
      "a covariance cut off",
      changed(({ wheels: [w] }) => void ((w!["camera"] as { covariance: string }).covariance = "AAAA")),
    ],
    ["an input of no source", text.replace("pose:1-abcd", "__proto__")],
    ["no number", changed(({ wheels: [w] }) => void (w!["pxPerMm"] = null))],
    ["more teeth than a wheel has", changed(({ wheels: [w] }) => void (w!["toothCount"] = 1e9))],
  ])("%s", (_, kept) => {
    expect(readSetPhoto(kept, "x.jpg")).toBeUndefined();
  });
});
