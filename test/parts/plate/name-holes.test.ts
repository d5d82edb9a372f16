import { expect, test } from "vitest";
import { nameHoles, type HoleSize } from "../../../src/parts/plate/name-holes.js";

const nearEdge = (diameterMm: number, isSunk = false): HoleSize => ({
  diameterMm,
  uDiameterMm: 0.1,
  ovalityMm: 0,
  uOvalityMm: 0.05,
  isRound: true,
  isSunk,
  fromEdgeMm: 5,
});

test("three holes alike along the edge are those of pillars, unless they lie in oil sinks", () => {
  expect(nameHoles([nearEdge(1.2), nearEdge(1.3), nearEdge(1.25)], 60)).toEqual([
    "pillar",
    "pillar",
    "pillar",
  ]);
  expect(nameHoles([nearEdge(1.2, true), nearEdge(1.3, true), nearEdge(1.25, true)], 60)).toEqual([
    "pivot",
    "pivot",
    "pivot",
  ]);
});
