import type { FaceSampler } from "../face-sampler.js";
import { linearFromSrgb } from "../linear-light.js";
import type { Point } from "../part.js";
import { topCode } from "./edge-sampler.js";
import { insideRuns } from "./inside-runs.js";
import { luminanceFrom } from "../contrast.js";
import type { PlateSignal } from "./plate-signal.js";

/** How bright a face is at a place, and how much of its colour it shows, the middle of the whole face being 1. */
export interface FaceLevel {
  readonly light: number;
  readonly colour: number;
}

/** Wider than the widest hole, so that most of a cell is face. */
const cellMm = 10;
const everyMm = 0.4;
/** Holes are darker than the face: so much of a cell may be holes. */
const quantile = 0.65;
const fewestSamples = 40;
/** Nothing is learnt from cells that are all hole, or all glare. */
const [darkest, brightest] = [0.1, 5];

/**
 * Polished metal mirrors the room, and flash is white at one end: there the plate is many times as bright as at the
 * other, which would pass for a hole. Levels of cells over the plate, and straight lines between their middles.
 */
export class LocalFace {
  readonly #columns: number;
  readonly #rows: number;
  readonly #levels: FaceLevel[];
  readonly #x0: number;
  readonly #y0: number;

  /** @param outline of the plate, local coordinates, mm. */
  constructor(sampler: FaceSampler, signal: PlateSignal, outline: readonly Point[]) {
    const xs = outline.map((p) => p[0]);
    const ys = outline.map((p) => p[1]);
    this.#x0 = Math.min(...xs);
    this.#y0 = Math.min(...ys);
    this.#columns = Math.max(1, Math.ceil((Math.max(...xs) - this.#x0) / cellMm));
    this.#rows = Math.max(1, Math.ceil((Math.max(...ys) - this.#y0) / cellMm));
    const light: number[][] = Array.from({ length: this.#columns * this.#rows }, () => []);
    const colour: number[][] = light.map(() => []);
    for (let y = this.#y0 + everyMm; y < Math.max(...ys); y += everyMm)
      for (const [from, to] of insideRuns(outline, y))
        for (let x = from + everyMm; x < to - everyMm; x += everyMm) {
          if (!sampler.at(x, y)) continue;
          const i = Math.floor((x - this.#x0) / cellMm);
          const j = Math.floor((y - this.#y0) / cellMm);
          light[j * this.#columns + i]!.push(signal.light(sampler));
          colour[j * this.#columns + i]!.push(signal.colour(sampler));
        }
    const of = (values: number[]): number => {
      const v = values.sort((a, b) => a - b)[Math.floor(quantile * values.length)]!;
      return Math.max(darkest, Math.min(brightest, v));
    };
    this.#levels = light.map((cell, i) =>
      cell.length < fewestSamples ? { light: 1, colour: 1 } : { light: of(cell), colour: of(colour[i]!) },
    );
  }

  at(xMm: number, yMm: number): FaceLevel {
    const x = Math.max(0, Math.min(this.#columns - 1, (xMm - this.#x0) / cellMm - 0.5));
    const y = Math.max(0, Math.min(this.#rows - 1, (yMm - this.#y0) / cellMm - 0.5));
    const i = Math.min(Math.max(0, this.#columns - 2), Math.floor(x));
    const j = Math.min(Math.max(0, this.#rows - 2), Math.floor(y));
    const [fx, fy] = [x - i, y - j];
    const level = (a: number, b: number): FaceLevel =>
      this.#levels[Math.min(this.#rows - 1, b) * this.#columns + Math.min(this.#columns - 1, a)]!;
    const between = (k: keyof FaceLevel): number =>
      (1 - fy) * ((1 - fx) * level(i, j)[k] + fx * level(i + 1, j)[k]) +
      fy * ((1 - fx) * level(i, j + 1)[k] + fx * level(i + 1, j + 1)[k]);
    return { light: between("light"), colour: between("colour") };
  }
}

const middleLevel: FaceLevel = { light: 1, colour: 1 };

/** Colour for its light, over that of the plate's middle: less is metal that is blown out. */
const palePurity = 0.3;
/** Share of the top below which paper is told from metal that is blown out. */
const paperBelow = 0.96;
const topLight = linearFromSrgb[topCode]!;

/**
 * Light and colour at a place as shares of those of the face there. Metal that is blown out has no colour left, and
 * paper that is not is darker: there light alone tells, half-way between the two being 0.5.
 */
export class FaceHere {
  /** Of what was read last. */
  light = 0;
  colour = 0;
  readonly level: FaceLevel;
  /** Of the bare paper, and of what is nearly white, the face here being 1. */
  readonly paperLight: number;
  readonly topLight: number;
  /** The face here is blown out, and the paper is not. */
  readonly isBlown: boolean;
  readonly hasColour: boolean;
  readonly #signal: PlateSignal;
  /** Light half-way between paper and white; above it metal is where red, green and blue are at their top. */
  readonly #halfWay: number;
  readonly #tellsWhite: boolean;

  /** @param level of the face here; that of the plate's middle knows nothing of what is blown out. */
  constructor(signal: PlateSignal, level: FaceLevel = middleLevel) {
    const bright = luminanceFrom(...signal.metal);
    const paper = luminanceFrom(...signal.neutral) / bright;
    this.#signal = signal;
    this.hasColour = signal.hasColour;
    this.level = level;
    this.#tellsWhite = level !== middleLevel && paper * bright < paperBelow * topLight;
    this.#halfWay = (paper + 1 / bright) / 2;
    this.paperLight = paper / level.light;
    this.topLight = topLight / bright / level.light;
    this.isBlown = this.#tellsWhite && level.light > this.#halfWay && level.colour < palePurity * level.light;
  }

  read(sampler: FaceSampler): void {
    const [light, colour] = [this.#signal.light(sampler), this.#signal.colour(sampler)];
    if (this.isBlown) {
      this.light = 0.5 + (light - this.#halfWay) / (this.level.light - this.#halfWay) / 2;
      this.colour = this.light;
      return;
    }
    this.light = light / this.level.light;
    this.colour = colour / this.level.colour;
    if (this.#tellsWhite && Math.min(sampler.red, sampler.green, sampler.blue) > topLight)
      this.colour = Math.max(1, this.colour);
  }
}
