import { describe, expect, test } from "vitest";
import type { Photo } from "../../../src/photo/index.js";
import { learnContrast, respond, responseInShade, type Contrast } from "../../../src/parts/contrast.js";
import { ThickOutline } from "../../../src/parts/thick-outline.js";
import { lightInSpaces } from "../../../src/parts/wheel/light-in-spaces.js";
import { fitToothCircle } from "../../../src/parts/wheel/fit-tooth-circle.js";
import { measureToothDepth } from "../../../src/parts/wheel/measure-tooth-depth.js";
import { readToothPlaces } from "../../../src/parts/wheel/tooth-places.js";
import { faceAt, straightDown, viewOf } from "../straight-down.js";
import { inventedPhoto } from "../invented-photo.js";

/** A wheel of rectangular teeth, invented: metal to `rootMm`, half of the pitch up to `tipMm`. */
const toothCount = 24;
const rootMm = 11;
const tipMm = 13.6;
const pxPerMm = 6;
/** Linear reflectances (invented): dark brass, paper. */
const brass = [0.35, 0.26, 0.11];
const paper = [0.84, 0.83, 0.8];

/** IEC 61966-2-1, encoding. */
const codeOf = (v: number): number =>
  255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * Math.min(1, v) ** (1 / 2.4) - 0.055);

/** Looked at from straight above, lens blur in linear light, `light` of the open sheet's light between the teeth. */
function wheelPhoto(light: number, blurPx: number): { photo: Photo; contrast: Contrast } {
  const size = 2 * Math.ceil(1.3 * tipMm * pxPerMm) + 1;
  const middle = (size - 1) / 2;
  const pitch = (2 * Math.PI) / toothCount;
  const linear = new Float32Array(3 * size * size);
  const fine = 4;
  for (let y = 0; y < size; y++)
    for (let x = 0; x < size; x++) {
      let metal = 0;
      let open = 0;
      for (let i = 0; i < fine * fine; i++) {
        const dx = (x - middle + ((i % fine) + 0.5) / fine - 0.5) / pxPerMm;
        const dy = (y - middle + (Math.floor(i / fine) + 0.5) / fine - 0.5) / pxPerMm;
        const r = Math.hypot(dx, dy);
        const a = Math.atan2(dy, dx);
        const onTooth = Math.abs(a - pitch * Math.round(a / pitch)) < pitch / 4;
        if (r < rootMm || (r < tipMm && onTooth)) metal++;
        else open += r < tipMm ? light : 1;
      }
      for (let c = 0; c < 3; c++)
        linear[3 * (y * size + x) + c] = (metal * brass[c]! + open * paper[c]!) / fine ** 2;
    }
  const soft = blurred(blurred(linear, size, 3 * size, blurPx), size, 3, blurPx);
  const rgb = Uint8Array.from(soft, (v) => Math.round(codeOf(v)));
  const samples = (from: number, to: number): number[] => {
    const out: number[] = [];
    for (let y = 0; y < size; y++)
      for (let x = 0; x < size; x++) {
        const r = Math.hypot(x - middle, y - middle) / pxPerMm;
        if (r > from && r < to) out.push(...rgb.subarray(3 * (y * size + x), 3 * (y * size + x) + 3));
      }
    return out;
  };
  const photo: Photo = inventedPhoto(size, size, rgb);
  return { photo, contrast: learnContrast(samples(5, rootMm - 1.5), samples(tipMm + 1.5, 1.25 * tipMm))! };
}

/** Along the pixels that are `stride` numbers apart; Gaussian, edges repeated. */
function blurred(values: Float32Array, size: number, stride: number, sigma: number): Float32Array {
  const reach = Math.ceil(4 * sigma);
  const kernel = Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-0.5 * ((i - reach) / sigma) ** 2));
  const total = kernel.reduce((a, b) => a + b, 0);
  return values.map((_, at) => {
    const k = Math.floor(at / stride) % size;
    return kernel.reduce(
      (sum, w, i) =>
        sum + (w / total) * values[at + (Math.min(size - 1, Math.max(0, k + i - reach)) - k) * stride]!,
      0,
    );
  });
}

function measured(light: number, blurPx: number): { rootPx: number; light: number } {
  const { photo, contrast } = wheelPhoto(light, blurPx);
  const geometry = straightDown(400, [0, 0], 400 * pxPerMm);
  const middle = (photo.widthPx - 1) / 2;
  const centred = { ...geometry, camera: { ...geometry.camera, cxPx: middle, cyPx: middle } };
  // The pixel's own square is part of the blur that markers show: 0.29 px.
  const view = {
    ...viewOf(centred),
    edge: { blurSigmaPx: Math.hypot(blurPx, 0.29), shiftPx: 0, uShiftPx: 0 },
  };
  const face = faceAt(centred, 0, 0, 0);
  const rim = { face, outlineMm: new Float64Array(1440).fill(tipMm), tipMm, rootMm, seen: 1 };
  const count = {
    count: toothCount,
    probability: 0.99,
    alternatives: [],
    phaseRad: 0,
    wander: [0, 0, 0, 0] as const,
    marks: [],
    scatter: 0,
    spectralCount: toothCount,
    seen: 1,
    pxPerTooth: (2 * Math.PI * tipMm * pxPerMm) / toothCount,
    filled: 1,
  };
  const { byLight, ...byColour } = contrast;
  expect(byLight).toBeDefined();
  const places = readToothPlaces(photo, byColour, rim, count, 1.3);
  const thick = new ThickOutline(face, 0);
  const circle = fitToothCircle(places, thick, 1 / pxPerMm)!;
  const depth = measureToothDepth(photo, view, byColour, rim, count, places, circle, thick)!;
  const found = lightInSpaces(photo, byColour, places, [...Array(toothCount).keys()]);
  return {
    rootPx: (depth.rootMm - rootMm) * pxPerMm,
    light: found.root,
  };
}

describe("trap 8: the wheel's own shade between its teeth", () => {
  test.each([1, 0.5, 0.2])("with %f of the light there, the root is where it is, to 0.35 px", (light) => {
    const got = measured(light, 1.2);
    // The share of metal that this is worked out with is bent by the very thing that it is to mend.
    expect(Math.abs(got.light - light)).toBeLessThan(0.15);
    expect(Math.abs(got.rootPx)).toBeLessThan(0.35);
  });
});

test("in shade a pixel that is half metal looks like more of it", () => {
  const { contrast } = wheelPhoto(1, 1);
  const lit = respond(responseInShade(contrast, 1), 0.5);
  expect(lit).toBeCloseTo(respond(contrast.response, 0.5), 12);
  expect(respond(responseInShade(contrast, 0.2), 0.5)).toBeGreaterThan(lit + 0.15);
  // By lightness the signal is linear in the light, in shade as in the open.
  expect(responseInShade(contrast.byLight!, 0.2)).toBe(contrast.byLight!.response);
});
