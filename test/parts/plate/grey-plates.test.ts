import { expect, test, vi } from "vitest";
import { findAndMeasureParts, type FoundParts } from "../../../src/parts/index.js";
import { networksForPhoto } from "../../../src/pipeline/index.js";
import { standardUncertainty } from "../../../src/quantity/index.js";
import { solveView } from "../../../src/view/index.js";
import {
  photoOfRendered,
  renderScene,
  sceneOfKind,
  type Metal,
  type PlateTruth,
} from "../../scenes/index.js";

vi.setConfig({ testTimeout: 300_000 });

/** A rendered plate of some other metal than brass. */
async function seen(metal: Metal, seed: number, asked: boolean): Promise<FoundParts & { truth: PlateTruth }> {
  const brass = sceneOfKind("plate-front", seed, "3mp");
  const parts = brass.parts.map((part) =>
    part.type === "plate" ? { ...part, look: { ...part.look, metal } } : part,
  );
  const scene = { ...brass, parts };
  const rendered = renderScene(scene, seed);
  const photo = await photoOfRendered(rendered, scene, "plate.jpg");
  const view = await solveView(photo);
  const truth = rendered.truth.plates[0]!;
  const found = await findAndMeasureParts(photo, view, {
    heights: { everyPartMm: truth.faceHeightMm },
    ...(asked && networksForPhoto().ask),
  });
  return { ...found, truth };
}

test("a nickel plate, nearly as grey as a shadow, is found and its holes are measured as well as they are stated", async () => {
  const { parts, problems, truth } = await seen("nickel", 3, false);
  expect(parts.map(({ kind }) => kind)).toEqual(["plate"]);
  expect(problems).toEqual([]);
  const [plate] = parts;
  expect(plate!.findings.map(({ code }) => code)).toContain("plate-grey");
  const unclear = plate!.findings.find(({ code }) => code === "hole-unclear")?.text ?? "";
  const more = Number(/; (\d+) more/.exec(unclear)?.[1] ?? 0);
  const listed = unclear.split(" mm wide").length - 1 + more;
  // At 6 px/mm walls and shaded sheet are as light as the face: two holes of fourteen are not seen at all.
  expect(plate!.holes!.length).toBeGreaterThan(0.3 * truth.holes.length);
  expect(plate!.holes!.length + listed).toBeGreaterThanOrEqual(truth.holes.length - 2);
  for (const hole of plate!.holes!) {
    const true_ = truth.holes.find(
      ({ centreMm: [x, y] }) => Math.hypot(hole.centreMm[0] - x, hole.centreMm[1] - y) < 1,
    );
    expect(true_, `hole at ${hole.centreMm.join(", ")}`).toBeDefined();
    const error = hole.diameterMm.value - true_!.diameterMm;
    expect(Math.abs(error)).toBeLessThan(2.5 * standardUncertainty(hole.diameterMm));
  }
});

test("a steel plate in soft shade is found by the network, and without it listed with its place: it was nothing", async () => {
  const found = await seen("steel", 6, true);
  expect(found.parts.map(({ kind }) => kind)).toEqual(["plate"]);
  const { parts, problems } = await seen("steel", 6, false);
  expect(parts).toEqual([]);
  expect(problems.find(({ code }) => code === "part-unknown")?.text).toContain("92 by 76 mm at -2, 2 mm");
});
