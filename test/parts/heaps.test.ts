import { expect, test, vi } from "vitest";
import { findAndMeasureParts, type FoundParts } from "../../src/parts/index.js";
import { networksForPhoto } from "../../src/pipeline/index.js";
import type { SceneKind, SceneTruth } from "../scenes/index.js";
import { photographed } from "./photographed.js";

vi.setConfig({ testTimeout: 300_000 });

// Rendered photographs of invented parts that lie on or against each other: none may be dropped without a word.
interface Seen extends FoundParts {
  readonly truth: SceneTruth;
  readonly touching: string;
}

async function seen(kind: SceneKind, seed: number): Promise<Seen> {
  const { photo, view, truth } = await photographed(kind, seed, "3mp");
  const found = await findAndMeasureParts(photo, view, networksForPhoto().ask);
  const touching = found.problems.filter(({ code }) => code === "parts-touching");
  for (const { advice } of touching) expect(advice).toContain("apart");
  return { ...found, truth, touching: touching.map(({ text }) => text).join("\n") };
}

const holesOf = ({ parts }: Seen): number => parts.find(({ kind }) => kind === "plate")?.holes?.length ?? 0;

const unclearIn = ({ parts }: Seen): number => {
  const findings = parts.find(({ kind }) => kind === "plate")?.findings ?? [];
  const text = findings.find(({ code }) => code === "hole-unclear")?.text ?? "";
  return text.split(" mm wide").length - 1;
};

const apart = (a: readonly [number, number], b: readonly [number, number]): [number, number] => [
  a[0] - b[0],
  a[1] - b[1],
];

/** Middle of what was not understood, mat frame. */
const placeIn = (text: string): [number, number] => {
  const [, x, y] = /mm at (-?\d+), (-?\d+) mm/.exec(text) ?? [];
  return [Number(x), Number(y)];
};

test("a wheel that lies on a plate is named with its place, and its crossings are no holes of the plate", async () => {
  const found = await seen("wheel-on-plate", 3);
  const [wheel] = found.truth.wheels;
  expect(found.parts.map(({ kind }) => kind)).toEqual(["plate"]);
  expect(found.touching).toContain("a round thing with teeth");
  const [x, y] = placeIn(found.touching);
  expect(Math.hypot(x - wheel!.centreMm[0], y - wheel!.centreMm[1])).toBeLessThan(3);
  expect(holesOf(found)).toBeLessThanOrEqual(found.truth.plates[0]!.holes.length);
});

test("a wheel that lies over the edge of a plate is counted, brass on brass, and the plate keeps its own holes", async () => {
  const found = await seen("wheel-over-plate-edge", 5);
  const [wheel] = found.truth.wheels;
  const [part] = found.parts;
  expect(Math.hypot(...apart(part!.centrePx, wheel!.centrePx))).toBeLessThan(
    0.1 * wheel!.tipDiameterMm * wheel!.pxPerMm,
  );
  // No contrast tells half of its rim; the network for teeth does.
  expect(part!.teeth!.count).toBe(wheel!.toothCount);
  expect(found.touching).toContain("part-1 and part-2 touch or overlap");
  // Its crossings were taken for nine holes more.
  expect(holesOf(found)).toBe(found.truth.plates[0]!.holes.length);
});

test("a wheel against a plate: both are measured, and named as touching", async () => {
  const found = await seen("wheel-against-plate", 1);
  expect(found.parts.map(({ kind }) => kind)).toEqual(["wheel", "plate"]);
  expect(found.parts[0]!.teeth!.count).toBe(found.truth.wheels[0]!.toothCount);
  expect(found.touching).toMatch(/^part-1 and part-2 touch or overlap/);
  // At 6 px/mm two of them are grey all over, and may be ends of posts: listed, not measured.
  const { length } = found.truth.plates[0]!.holes;
  expect(holesOf(found)).toBeGreaterThanOrEqual(0.75 * length);
  expect(holesOf(found) + unclearIn(found)).toBe(length);
});

test("a pillar that stands against a wheel is named with its place", async () => {
  const found = await seen("pillar-against-wheel", 3);
  const [wheel, pillar] = found.truth.wheels;
  expect(found.parts.map(({ teeth }) => teeth?.count)).toEqual([wheel!.toothCount]);
  const [x, y] = placeIn(found.touching);
  expect(Math.hypot(x - pillar!.centreMm[0], y - pillar!.centreMm[1])).toBeLessThan(4);
});

test("a plate with nothing on it touches nothing", async () => {
  const found = await seen("plate", 3);
  expect(found.parts.map(({ kind }) => kind)).toEqual(["plate"]);
  expect(found.problems).toEqual([]);
});
