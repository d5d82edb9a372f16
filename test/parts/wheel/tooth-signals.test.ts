import { describe, expect, test } from "vitest";
import { fitFlankBlur } from "../../../src/parts/wheel/fit-flank-blur.js";
import { peaksOf, spectrumOf } from "../../../src/parts/wheel/spectrum.js";
import { findToothMarks } from "../../../src/parts/wheel/tooth-marks.js";
import { seededRandom } from "../../../src/quantity/index.js";
import { normalBelow, rimSignal } from "./rim-signals.js";

describe("spectrum", () => {
  const n = 1440;
  const all = new Uint8Array(n).fill(1);
  const wave = Float64Array.from({ length: n }, (_, i) => {
    const t = (2 * Math.PI * i) / n;
    return 0.7 + 3 * Math.cos(8 * t + 0.4) + 0.5 * Math.sin(20 * t);
  });

  test("gives the squared amplitude of each harmonic", () => {
    const power = spectrumOf(wave, all, 40);
    expect(power).toHaveLength(41);
    expect(power[8]).toBeCloseTo(9, 9);
    expect(power[20]).toBeCloseTo(0.25, 9);
    expect(power[0]).toBe(0);
    power.forEach((p, k) => {
      if (k !== 8 && k !== 20) expect(p).toBeLessThan(1e-12);
    });
  });

  test("half a turn unseen halves the amplitude", () => {
    const seen = all.map((_, i) => (i < n / 2 ? 1 : 0));
    // Whole waves fit into the half, so the mean is the constant; even harmonics do not mix.
    const power = spectrumOf(wave, seen, 40);
    expect(power[8]).toBeCloseTo(9 / 4, 9);
  });

  test("nothing seen is no power", () => {
    expect([...spectrumOf(wave, new Uint8Array(n), 10)].every((p) => p === 0)).toBe(true);
  });

  test("peaks come strongest first, from the lowest asked for", () => {
    const power = spectrumOf(wave, all, 40);
    expect(peaksOf(power, 6, 2)).toEqual([8, 20]);
    expect(peaksOf(power, 9, 1)).toEqual([20]);
  });
});

describe("tooth marks", () => {
  test("finds every tooth, its middle and its width", () => {
    const signal = rimSignal({ toothCount: 48, duty: 0.4, phaseRad: 0.05, noise: 0 });
    const marks = findToothMarks(signal.value, signal.seen, signal.value.length / 48);
    expect(marks).toHaveLength(48);
    const pitch = (2 * Math.PI) / 48;
    marks.forEach(({ centreRad, widthRad, height }, k) => {
      // Samples are a 64th of a pitch apart, edges are interpolated.
      expect(Math.abs(centreRad - (0.05 + k * pitch))).toBeLessThan(0.005 * pitch);
      expect(Math.abs(widthRad - 0.4 * pitch)).toBeLessThan(0.01 * pitch);
      expect(height).toBeGreaterThan(0.9);
    });
  });

  test("a tooth across the seam is one tooth", () => {
    const signal = rimSignal({ toothCount: 30, phaseRad: 0, noise: 0 });
    const marks = findToothMarks(signal.value, signal.seen, signal.value.length / 30);
    expect(marks).toHaveLength(30);
  });

  test("light that falls off round the turn swallows no teeth", () => {
    const signal = rimSignal({ toothCount: 60, noise: 0 });
    const value = signal.value.map(
      (v, i) => v * (0.65 + 0.35 * Math.cos((2 * Math.PI * i) / 3072)) + i / 3072,
    );
    expect(findToothMarks(value, signal.seen, value.length / 60).length).toBeGreaterThanOrEqual(57);
    // A middle of the whole signal loses more.
    const middle = 0.5 * (Math.min(...value) + Math.max(...value));
    const crossings = value.filter((v, i) => v >= middle && value[(i + 1) % value.length]! < middle).length;
    expect(crossings).toBeLessThan(50);
  });

  test("hidden teeth give no marks", () => {
    const signal = rimSignal({ toothCount: 60, hidden: 0.25, noise: 0 });
    const marks = findToothMarks(signal.value, signal.seen, signal.value.length / 60);
    expect(marks.length).toBeLessThanOrEqual(46);
    expect(marks.length).toBeGreaterThanOrEqual(43);
    expect(marks.every((m) => m.centreRad > 0.25 * 2 * Math.PI - 0.06)).toBe(true);
  });
});

describe("blur from the flanks", () => {
  const stepMm = 0.05;
  /** A rectangular tooth and its neighbours, softened. */
  const section = (pitchMm: number, widthMm: number, sigmaMm: number, noise = 0): Float64Array => {
    const n = Math.round(pitchMm / stepMm);
    const random = seededRandom(3);
    return Float64Array.from({ length: n }, (_, i) => {
      const x = (i - (n - 1) / 2) * stepMm;
      let s = 0;
      for (const turn of [-pitchMm, 0, pitchMm])
        s +=
          normalBelow((x - turn + widthMm / 2) / sigmaMm) - normalBelow((x - turn - widthMm / 2) / sigmaMm);
      return 0.04 + 0.93 * s + noise * random.normal();
    });
  };

  test.each([0.06, 0.1, 0.14])("finds the sigma of %f mm of a softened edge", (sigmaMm) => {
    const found = fitFlankBlur(section(2, 0.9, sigmaMm), stepMm, 0.1)!;
    // The prior on the expected value weighs little against 40 clean samples.
    expect(Math.abs(found.sigmaMm / sigmaMm - 1)).toBeLessThan(0.02);
    expect(found.uSigmaMm).toBeGreaterThan(0.05 * found.sigmaMm);
  });

  test("states an uncertainty that holds under noise", () => {
    const found = fitFlankBlur(section(2, 0.9, 0.1, 0.02), stepMm, 0.13)!;
    expect(Math.abs(found.sigmaMm - 0.1)).toBeLessThan(2 * found.uSigmaMm);
  });

  test("says nothing where teeth are too fine for flanks to be told apart", () => {
    expect(fitFlankBlur(section(0.6, 0.3, 0.1), stepMm, 0.1)).toBeUndefined();
  });
});
