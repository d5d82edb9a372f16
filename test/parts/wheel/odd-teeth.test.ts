import { expect, test } from "vitest";
import type { ToothState } from "../../../src/parts/part.js";
import { findBentTeeth } from "../../../src/parts/wheel/bent-teeth.js";
import { findCutShortTeeth } from "../../../src/parts/wheel/cut-short-teeth.js";
import type { ToothPlaces } from "../../../src/parts/wheel/tooth-places.js";
import { random } from "../../scenes/random.js";

const count = 36;
const pitchRad = (2 * Math.PI) / count;
const angleRad = Float64Array.from({ length: count }, (_, k) => k * pitchRad);
const states: ToothState[] = Array.from({ length: count }, () => "whole");
/** Twenty pixels a pitch at a tip radius of 15 mm. */
const pxMm = (pitchRad * 15) / 20;

/** What is read of raked teeth in light from one side: the teeth of that side seem to lean more. */
function raked(bent: {
  readonly tooth: number;
  readonly outer: number;
  readonly inner: number;
}): ToothPlaces {
  const rng = random(1, "raked");
  const noise = (): number => rng.normal(0.007);
  const offsetOuter = angleRad.map((t) => 0.05 + 0.03 * Math.cos(t) + noise());
  const offsetInner = angleRad.map((t) => -0.09 - 0.02 * Math.cos(t) + noise());
  offsetOuter[bent.tooth]! += bent.outer;
  offsetInner[bent.tooth]! += bent.inner;
  return { count, pitchRad, angleRad, tipMm: 15, rootMm: 12, offsetOuter, offsetInner } as ToothPlaces;
}

test("a bent tooth of an escape wheel is named, though light makes the teeth of one side lean as much", () => {
  const bent = findBentTeeth(raked({ tooth: 23, outer: -0.06, inner: -0.025 }), states, pxMm);
  expect(bent.map(({ place }) => place)).toEqual([23]);
  expect(bent[0]!.offsetPitches).toBeLessThan(-0.04);
});

test("a tooth that stands off its place all the way up is not called bent", () => {
  expect(findBentTeeth(raked({ tooth: 23, outer: -0.05, inner: -0.05 }), states, pxMm)).toEqual([]);
});

test("no whole tooth of 200 wheels is called bent", () => {
  let called = 0;
  for (let seed = 0; seed < 200; seed++) {
    const rng = random(seed, "whole");
    const offsets = (): Float64Array => angleRad.map(() => rng.normal(0.01));
    const places = { count, pitchRad, angleRad, tipMm: 15, offsetOuter: offsets(), offsetInner: offsets() };
    called += findBentTeeth(places as ToothPlaces, states, pxMm).length;
  }
  // 7200 teeth, of which one in 150 000 would be; with a fixed limit of five scatters one was.
  expect(called).toBe(0);
});

test("teeth of less than 8 px a pitch are not looked at one by one", () => {
  expect(findBentTeeth(raked({ tooth: 23, outer: -0.06, inner: -0.025 }), states, 3 * pxMm)).toEqual([]);
});

/** Raked teeth, 40 columns from root to tip: the width falls from 0.6 of the pitch to a land of 0.05. */
function backs(cutAt: ReadonlyMap<number, number>, brightness: (k: number) => number): ToothPlaces {
  const radii = 48;
  const coverage = new Float32Array(count * radii);
  for (let k = 0; k < count; k++)
    for (let j = 0; j < radii; j++) {
      const height = j / 40;
      const ends = cutAt.get(k) ?? 1;
      coverage[k * radii + j] = height < ends ? brightness(k) * (0.05 + 0.55 * (1 - height) ** 1.5) : 0;
    }
  const stepMm = 3 / 40;
  return { count, angleRad, coverage, radii, fromRadiusMm: 12, stepMm, rootMm: 12, tipMm: 15 } as ToothPlaces;
}

test("an escape tooth that has lost its tip is short; one that is darker than its fellows is not", () => {
  const places = backs(new Map([[11, 0.65]]), (k) => (k === 20 ? 0.8 : 1 + 0.02 * Math.sin(5 * k)));
  expect(findCutShortTeeth(places, states)).toEqual([11]);
});
