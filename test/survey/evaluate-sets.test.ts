import { describe, expect, test } from "vitest";
import type { WheelMarks } from "../../src/parts/index.js";
import { expandedUncertainty } from "../../src/quantity/index.js";
import {
  belongsToSet,
  evaluateSet,
  isPhotoFolder,
  recogniseSets,
  setOfFolder,
  type SetPhoto,
} from "../../src/survey/index.js";
import { inventedMarks } from "./invented-marks.js";

const photo = (file: string, marks?: WheelMarks, cards: readonly string[] = []): SetPhoto => ({
  file,
  sha256: file,
  wheels: marks ? [marks] : [],
  cards,
  onMat: true,
});
const degree = Math.PI / 180;
/** A wheel off its axis by e, turned. */
const turned = (e: number, deg: number, more = {}): WheelMarks =>
  inventedMarks({
    turnRad: deg * degree,
    centreMm: [e * Math.cos(deg * degree), e * Math.sin(deg * degree)],
    ...more,
  });
const codes = (set: { readonly problems: readonly { readonly code: string }[] }): string[] =>
  set.problems.map(({ code }) => code);

describe("turn sets", () => {
  test("an eccentricity of 0.1 mm is found from four photographs, with its turns", () => {
    const [set] = evaluateSet(
      "turn",
      [0, 88, 183, 271].map((deg) => photo(`${deg}.jpg`, turned(0.1, deg))),
    );
    expect(set!.eccentricityMm!.value).toBeCloseTo(0.1, 2);
    expect(set!.radialRunoutMm!.value).toBeCloseTo(0.2, 2);
    [0, 88, 183, 271].forEach((deg, k) => expect(set!.positions[k]!.turnRad / degree).toBeCloseTo(deg, 1));
    expect(set!.problems).toEqual([]);
  });

  test("a rim that rises and falls: by how much where the wheel stands free, and why not where it lies on the sheet", () => {
    // Tips that stand 0.05 mm off the spacing, towards the side that turns with the wheel: 380 / 20 times that at the rim.
    const askew = (deg: number): Partial<WheelMarks> => ({
      outlineMm: 20,
      tipsOffMm: [0.05 * Math.cos((deg + 40) * degree), 0.05 * Math.sin((deg + 40) * degree)],
    });
    const of = (faceMm: number) =>
      evaluateSet(
        "turn",
        [0, 88, 183, 271].map((deg) => photo(`${deg}.jpg`, { ...turned(0.1, deg), ...askew(deg), faceMm })),
      )[0]!;
    const free = of(20);
    // 2 x 0.95 mm; the wheel's own form leaves 0.003 of slope open.
    expect(free.axialRunoutMm!.value).toBeGreaterThan(1.8);
    expect(free.axialRunoutMm!.value).toBeLessThan(2);
    expect(free.axialHighAngleRad!.value / degree).toBeCloseTo(40, 0);
    expect(free.findings.map(({ code }) => code)).toContain("axial-runout");
    const lying = of(2);
    expect(lying.axialRunoutMm).toBeUndefined();
    expect(lying.findings.find(({ code }) => code === "axial-runout-not-told")!.text).toContain(
      "lies on the sheet",
    );
  });

  test("two photographs only: told, no value", () => {
    const [set] = evaluateSet("turn", [photo("a", turned(0.1, 0)), photo("b", turned(0.1, 180))]);
    expect(set!.eccentricityMm).toBeUndefined();
    expect(set!.verdict).toBe("cannot tell");
    expect(codes(set!)).toEqual(["set-too-few-photos"]);
  });

  test("the same photograph twice counts once, and is told", () => {
    const again = { ...photo("c", turned(0.1, 0)), sha256: "a" };
    const [set] = evaluateSet("turn", [photo("a", turned(0.1, 0)), photo("b", turned(0.1, 120)), again]);
    expect(codes(set!)).toEqual(["set-same-photo", "set-too-few-photos"]);
  });

  test("a photograph of another wheel is named and left out", () => {
    const [set] = evaluateSet("turn", [
      ...[0, 92, 178].map((deg) => photo(`${deg}.jpg`, turned(0.1, deg))),
      photo("other.jpg", turned(0.1, 270, { toothCount: 72, tipRadiusMm: 24 })),
    ]);
    expect(codes(set!)).toContain("set-different-wheels");
    expect(set!.problems[0]!.text).toContain("other.jpg");
    expect(set!.eccentricityMm!.value).toBeCloseTo(0.1, 2);
  });

  test("photographs of as many wheels as there are photographs make no set", () => {
    const [set] = evaluateSet("turn", [
      photo("a.jpg", inventedMarks({ toothCount: 60 })),
      photo("b.jpg", inventedMarks({ toothCount: 72 })),
    ]);
    expect(set!.verdict).toBe("cannot tell");
    expect(codes(set!)).toContain("set-different-wheels");
  });

  test("a photograph in which the arbor has moved is left out", () => {
    const [set] = evaluateSet(
      "turn",
      [0, 83, 171, 262].map((deg) => {
        const marks = turned(0.1, deg);
        const movedMm = deg === 171 ? 0.4 : 0;
        return photo(`${deg}.jpg`, {
          ...marks,
          centreMm: [marks.centreMm[0] + movedMm, marks.centreMm[1]],
        });
      }),
    );
    expect(codes(set!)).toEqual(["turn-arbor-moved"]);
    expect(set!.eccentricityMm!.value).toBeCloseTo(0.1, 2);
  });

  test("none is left out of four where light alone seems to tell how far a disc was turned", () => {
    // Light stays where it is, and so seems to say that the disc was hardly turned. Three of these centres, all within
    // 0.07 mm, then lie on a circle of 0.29 mm, which the fourth would be said to have left.
    const centres = [
      [0.06, -0.03],
      [-0.01, 0.01],
      [-0.01, -0.05],
      [-0.04, 0.01],
    ] as const;
    const [set] = evaluateSet(
      "turn",
      [0, 77, 151, 214].map((deg, k) => {
        const disc = { toothCount: 23, tipRadiusMm: 7, crossings: 0, leaves: 0, centreMm: centres[k]! };
        const marks = inventedMarks({ ...disc, turnRad: deg * degree });
        const { angles, radii } = marks.face;
        const bare = Uint8Array.from({ length: angles * radii }, (_, i) => {
          const t = (2 * Math.PI * Math.floor(i / radii)) / angles;
          return 128 + 60 * Math.cos(t) + 30 * Math.cos(3 * t + 1);
        });
        return photo(`${deg}.jpg`, { ...marks, face: { ...marks.face, bare } });
      }),
    );
    expect(codes(set!)).toEqual(["turn-arbor-moved"]);
    expect(set!.eccentricityMm).toBeUndefined();
  });

  test("turned by exactly one tooth, 6 degrees: told by the crossings, and too little to tell the axis well", () => {
    const [set] = evaluateSet(
      "turn",
      [0, 6, 12].map((deg) => photo(`${deg}.jpg`, turned(0.1, deg))),
    );
    expect(set!.eccentricityMm).toBeUndefined();
    expect(codes(set!)).toEqual(["turn-too-little"]);
  });

  test("turned by exactly one crossing, nothing else to go by, and not eccentric: no eccentricity is invented", () => {
    const [set] = evaluateSet(
      "turn",
      [0, 72, 144, 216].map((deg) => photo(`${deg}.jpg`, turned(0, deg, { leaves: 0 }))),
    );
    expect(set!.eccentricityMm?.value ?? 0).toBeLessThan(0.01);
  });

  test("in a photograph the arbor has moved: it is named and left out", () => {
    const marks = [0, 71, 140, 222, 290].map((deg) => turned(0.1, deg));
    const moved = { ...marks[2]!, centreMm: [marks[2]!.centreMm[0] + 0.4, marks[2]!.centreMm[1]] as const };
    const [set] = evaluateSet(
      "turn",
      marks.map((m, k) => photo(`${k}.jpg`, k === 2 ? moved : m)),
    );
    expect(codes(set!)).toEqual(["turn-arbor-moved"]);
    expect(set!.problems[0]!.text).toContain("2.jpg");
    expect(set!.eccentricityMm!.value).toBeCloseTo(0.1, 2);
  });

  test("photographs without a mat cannot be compared", () => {
    const [set] = evaluateSet("turn", [
      { ...photo("a"), onMat: false },
      { ...photo("b"), onMat: false },
    ]);
    expect(codes(set!)).toEqual(["set-without-mat", "set-without-mat"]);
  });

  test("a photograph in which the wheel leans is left out, and says how to lay it", () => {
    const flat = [0, 88, 183].map((deg) => photo(`${deg}.jpg`, turned(0.1, deg)));
    const [set] = evaluateSet("turn", [...flat, { ...photo("271.jpg"), leaning: 1 }]);
    expect(codes(set!)).toEqual(["set-wheel-leans"]);
    expect(set!.problems[0]!.text).toContain("271.jpg");
    expect(set!.problems[0]!.advice).toContain("let the arbor through the sheet");
    expect(set!.eccentricityMm!.value).toBeCloseTo(0.1, 2);
  });
});

describe("play sets", () => {
  const play = (k: number, more: object): SetPhoto => photo(`${k}.jpg`, inventedMarks(more));

  test("a tight wheel moved and turned about with its arbor is tight", () => {
    const [set] = evaluateSet(
      "play",
      [0, 30, 77].map((deg, k) => play(k, { turnRad: deg * degree, centreMm: [k, -k], leaves: 7 })),
    );
    expect(set!.verdict).toBe("tight");
    expect(set!.limits!.radialMm).toBeGreaterThan(0);
  });

  test("a wheel that moves 0.1 mm on its arbor is loose, by 0.1 mm", () => {
    const [set] = evaluateSet("play", [
      play(0, { arborMm: [0.05, 0] }),
      play(1, { arborMm: [-0.05, 0] }),
      play(2, { arborMm: [0.05, 0] }),
      play(3, { arborMm: [-0.05, 0] }),
    ]);
    expect(set!.verdict).toBe("loose");
    expect(set!.radialPlayMm!.value).toBeGreaterThan(0.08);
    expect(set!.radialPlayMm!.value).toBeLessThan(0.12);
  });

  test("a wheel that twists by 1 degree is loose, by 1 degree", () => {
    const [set] = evaluateSet("play", [
      play(0, {}),
      play(1, { twistRad: degree }),
      play(2, {}),
      play(3, { twistRad: degree }),
    ]);
    expect(set!.verdict).toBe("loose");
    const { value } = set!.twistRad!;
    // The drawn leaves give it to 0.03 degrees; what noise may have added is taken off.
    expect(Math.abs(value / degree - 1)).toBeLessThan(0.2);
    expect(Math.abs(value - degree)).toBeLessThan(expandedUncertainty(set!.twistRad!));
  });

  // 81 teeth, five crossings, ten leaves: after a crossing and 16 teeth all looks nearly alike.
  const alike = { toothCount: 81, tipRadiusMm: 23, crossings: 5, leaves: 10 };
  const shot = (turnDeg: number, arborDeg: number): WheelMarks =>
    inventedMarks({ ...alike, turnRad: turnDeg * degree, twistRad: (arborDeg - turnDeg) * degree });

  test("twisted by 2 degrees, or turned with its arbor to where both look alike: cannot tell, a pencil dot would", () => {
    const [result] = evaluateSet(
      "play",
      [shot(0, 0), shot(2, 0), shot(0, 0), shot(2, 0)].map((m, k) => photo(`${k}.jpg`, m)),
    );
    expect(result!.verdict).toBe("cannot tell");
    expect(result!.twistRad).toBeUndefined();
    expect(result!.problems.map(({ advice }) => advice).join()).toMatch(/pencil dot on one crossing/);
  });

  test("the same wheel, tight, turned with its arbor by a crossing and a degree: it is not called loose", () => {
    for (const turns of [
      [0, 73, 0, 73],
      [0, 73, 144.5, 0],
      [0, 0, 0, 73.2],
    ]) {
      const [result] = evaluateSet(
        "play",
        turns.map((t, k) => photo(`${k}.jpg`, shot(t, t))),
      );
      expect(result!.verdict).not.toBe("loose");
    }
  });

  test("a round arbor shows no twist: cannot tell, and what to do about it", () => {
    const [set] = evaluateSet("play", [play(0, { leaves: 0 }), play(1, { leaves: 0 })]);
    expect(set!.verdict).toBe("cannot tell");
    expect(codes(set!)).toContain("play-no-reference");
    expect(set!.twistRad).toBeUndefined();
  });

  test("no arbor in sight: cannot tell", () => {
    const hidden = (k: number): SetPhoto => {
      const marks = inventedMarks();
      return photo(`${k}.jpg`, {
        ...marks,
        hub: { ...marks.hub, bare: new Float32Array(marks.hub.bare.length) },
      });
    };
    const [set] = evaluateSet("play", [hidden(0), hidden(1)]);
    expect(codes(set!)).toEqual(["play-no-arbor"]);
    expect(set!.problems[0]!.advice).toContain("scrap of white paper");
  });
});

describe("which photographs belong together", () => {
  test("by the cards TURN and PLAY and the part's tag", () => {
    const sets = recogniseSets([
      photo("a.jpg", undefined, ["TURN", "T2"]),
      photo("b.jpg", undefined, ["PLAY", "T2"]),
      photo("c.jpg", undefined, ["TURN", "T2"]),
      photo("d.jpg", undefined, ["TURN", "S1"]),
      photo("e.jpg", undefined, ["T2"]),
    ]);
    expect(sets.map(({ kind, label, photos }) => [kind, label, photos.map((p) => p.file)])).toEqual([
      ["turn", "T2", ["a.jpg", "c.jpg"]],
      ["play", "T2", ["b.jpg"]],
      ["turn", "S1", ["d.jpg"]],
    ]);
  });

  test("in the folder no-set a card counts for nothing", () => {
    const cards = ["TURN", "T2"];
    const sets = recogniseSets([
      photo("photos/a.jpg", undefined, cards),
      photo("photos/no-set/b.jpg", undefined, cards),
      photo("photos/c.jpg", undefined, cards),
    ]);
    expect(sets.map(({ photos }) => photos.map((p) => p.file))).toEqual([["photos/a.jpg", "photos/c.jpg"]]);
    expect(belongsToSet("photos/no-set/b.jpg", cards)).toBe(false);
    expect(belongsToSet("no-set.jpg", cards)).toBe(true);
    // The survey's readers look into it all the same.
    expect(["no-set", "turn-T2", "old"].map(isPhotoFolder)).toEqual([true, true, false]);
  });

  test.each([
    ["photos/turn-T2/1.jpg", { kind: "turn", label: "T2" }],
    ["photos/play-s1/1.jpg", { kind: "play", label: "S1" }],
    ["height/1.jpg", { kind: "height" }],
    ["photos/turned/1.jpg", undefined],
    ["turn-T2.jpg", undefined],
  ])("folder of %s", (file, expected) => {
    expect(setOfFolder(file)).toEqual(expected);
  });
});
