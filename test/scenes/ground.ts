import { describeSheet, sheetMarks } from "../../src/mat/index.js";
import type { Sheet } from "../../src/mat/index.js";
import { blackCells } from "./marker-print.js";
import type { NoiseField } from "./noise-field.js";
import type { Ground, Surface } from "./scene.js";
import { sheetHeightMm } from "./sheet-height.js";
import { isInked } from "./small-type.js";

/** What lies at z = 0. Codes tell surfaces apart for the edge search. */
export const groundCode = {
  paper: 0,
  ink: 1,
  neutral: 2,
  under: 3,
  light: 4,
  lightest: 5,
  words: 6,
} as const;

/** sRGB levels that the sheet's description uses for marks, with their codes. */
const codeOfGrey = new Map([
  [0, groundCode.ink],
  [128, groundCode.neutral],
  [176, groundCode.light],
  [192, groundCode.lightest],
]);

export interface GroundSurface {
  /** One of `groundCode`. */
  codeAt(x: number, y: number): number;
  /** Linear reflectance into `out`. */
  albedoAt(code: number, x: number, y: number, out: Float64Array): void;
  /** Height of the sheet, mm; 0 unless it is bowed. */
  heightAt(x: number, y: number): number;
  readonly bowed: boolean;
  /** True for a lit table: no shadow falls on it. */
  readonly shining: boolean;
}

type Shape = (x: number, y: number) => number;

/** Hash cells of the printed things, mm. */
const hashMm = 4;

export function groundSurface(ground: Ground, noise: NoiseField): GroundSurface {
  if (ground.kind === "surface") {
    const { surface } = ground;
    return {
      codeAt: () => groundCode.under,
      albedoAt: (_code, x, y, out) => surfaceAlbedo(surface, noise, x, y, out),
      heightAt: () => 0,
      bowed: false,
      shining: surface === "light-table",
    };
  }
  const sheet = describeSheet(ground.paper);
  const print = printedShapes(sheet);
  const halfX = (ground.sheetMm?.[0] ?? sheet.widthMm) / 2;
  const halfY = (ground.sheetMm?.[1] ?? sheet.heightMm) / 2;
  const { printScaleAcross, printScaleAlong, under } = ground;
  const over = ground.second ? secondSheet(ground.second) : undefined;
  return {
    codeAt(x, y) {
      const upper = over?.(x, y);
      if (upper !== undefined) return upper;
      // The paper keeps its size; only the print is scaled.
      if (Math.abs(x) > halfX || Math.abs(y) > halfY) return groundCode.under;
      return print(x / printScaleAcross, y / printScaleAlong);
    },
    albedoAt(code, x, y, out) {
      if (code === groundCode.under) {
        surfaceAlbedo(under, noise, x, y, out);
        return;
      }
      const fibre = 1 + 0.012 * noise.cloud(x * 1.3, y * 1.3);
      if (code === groundCode.paper) set(out, 0.86 * fibre, 0.855 * fibre, 0.83 * fibre);
      else if (code === groundCode.neutral) tone(out, 128, fibre);
      else if (code === groundCode.light) tone(out, 176, fibre);
      else if (code === groundCode.lightest) tone(out, 192, fibre);
      else {
        const toner = 0.042 * (1 + 0.15 * noise.at(x * 2.1, y * 2.1));
        set(out, toner, toner, toner * 1.05);
      }
    },
    heightAt(x, y) {
      if (Math.abs(x) > halfX || Math.abs(y) > halfY) return 0;
      return sheetHeightMm(ground, halfX, halfY, x, y);
    },
    bowed: ground.bowMm !== 0 || ground.crease !== undefined,
    shining: false,
  };
}

/** Code on a sheet that lies over the first; undefined beside it. */
function secondSheet(
  second: NonNullable<Extract<Ground, { kind: "mat" }>["second"]>,
): (x: number, y: number) => number | undefined {
  const sheet = describeSheet(second.paper);
  const print = printedShapes(sheet);
  const c = Math.cos(second.turnRad);
  const s = Math.sin(second.turnRad);
  return (x, y) => {
    const dx = x - second.atMm[0];
    const dy = y - second.atMm[1];
    const u = c * dx + s * dy;
    const v = -s * dx + c * dy;
    return Math.abs(u) > sheet.widthMm / 2 || Math.abs(v) > sheet.heightMm / 2 ? undefined : print(u, v);
  };
}

/** Exact look-up of the nominal print: which code lies at a point of the perfect sheet. */
function printedShapes(sheet: Sheet): (x: number, y: number) => number {
  const columns = Math.ceil(sheet.widthMm / hashMm) + 2;
  const rows = Math.ceil(sheet.heightMm / hashMm) + 2;
  const cells = Array.from({ length: columns * rows }, (): Shape[] => []);
  const cellOf = (x: number, y: number): number =>
    (Math.floor((y + sheet.heightMm / 2) / hashMm) + 1) * columns +
    Math.floor((x + sheet.widthMm / 2) / hashMm) +
    1;
  const add = (minX: number, minY: number, maxX: number, maxY: number, shape: Shape): void => {
    for (let y = minY; y <= maxY + hashMm; y += hashMm)
      for (let x = minX; x <= maxX + hashMm; x += hashMm) {
        const list = cells[cellOf(Math.min(x, maxX), Math.min(y, maxY))];
        if (list && list[list.length - 1] !== shape) list.push(shape);
      }
  };
  const rectangle = (minX: number, minY: number, maxX: number, maxY: number, code: number): void =>
    add(minX, minY, maxX, maxY, (x, y) => (x >= minX && x <= maxX && y >= minY && y <= maxY ? code : 0));

  const size = sheet.markerSizeMm;
  for (const marker of sheet.markers) {
    const bits = blackCells(marker.id);
    const left = marker.centreMm[0] - size / 2;
    const top = marker.centreMm[1] + size / 2;
    add(left, top - size, left + size, top, (x, y) => {
      const column = Math.floor(((x - left) * 8) / size);
      const row = Math.floor(((top - y) * 8) / size);
      if (column < 0 || row < 0 || column > 7 || row > 7) return groundCode.paper;
      return bits[row * 8 + column] === 1 ? groundCode.ink : groundCode.paper;
    });
  }
  for (const mark of sheetMarks(sheet)) {
    const apart = ([grey]: readonly [number, number]): number => Math.abs(grey - mark.grey);
    const [, code] = [...codeOfGrey].reduce((a, b) => (apart(b) < apart(a) ? b : a));
    rectangle(mark.fromMm[0], mark.fromMm[1], mark.toMm[0], mark.toMm[1], code);
  }
  const write = (
    text: string,
    x: number,
    y: number,
    capMm: number,
    upwards: boolean,
    code: number = groundCode.words,
  ): void => {
    const dot = capMm / 5;
    const length = 4 * dot * text.length;
    const shape: Shape = (px, py) => {
      const along = upwards ? py - y : px - x;
      const over = upwards ? x - px : py - y;
      return isInked(text, Math.floor(along / dot), 4 - Math.floor(over / dot)) ? code : 0;
    };
    if (upwards) add(x - capMm, y, x, y + length, shape);
    else add(x, y, x + length, y + capMm, shape);
  };
  // Roughly what the printed sheet says, and where.
  const [fieldX, fieldY] = sheet.fieldHalfMm;
  write(`scale mat, ${sheet.paper}, revision ${sheet.revision}`, -fieldX, fieldY + 5.2, 2.5, false);
  write("print at 100 % (actual size), on matt paper, one side only", -fieldX, fieldY + 1.9, 1.7, false);
  for (const { lengthMm, direction, fromMm } of sheet.bars) {
    const text = `${lengthMm.toFixed(1)} mm nominal, measure me ${direction} the sheet from tick to tick`;
    if (direction === "across") write(text, fromMm[0] + 4, fromMm[1] + 1.4, 1.7, false);
    else write(text, fromMm[0] + 3.4, fromMm[1] + 4, 1.7, true);
  }
  write("lay this sheet flat on a hard board. measure both check bars", fieldX + 3.4, -45, 1.7, true);
  write("to let an arbor through, pierce the sheet at a cross", fieldX + 6.6, -40, 1.7, true);
  for (const { label, atMm } of sheet.pierceCrosses)
    write(label, atMm[0] + 1, atMm[1] + 1, 1.7, false, groundCode.neutral);
  return (x, y) => {
    const list = cells[cellOf(x, y)];
    if (!list) return groundCode.paper;
    // Later marks lie over earlier ones.
    for (let i = list.length - 1; i >= 0; i--) {
      const code = list[i]!(x, y);
      if (code !== 0) return code;
    }
    return groundCode.paper;
  };
}

/** Paper printed with a grey of sRGB level `level`. */
function tone(out: Float64Array, level: number, fibre: number): void {
  const share = ((level / 255 + 0.055) / 1.055) ** 2.4;
  set(out, 0.86 * share * fibre, 0.855 * share * fibre, 0.84 * share * fibre);
}

function set(out: Float64Array, r: number, g: number, b: number): void {
  out[0] = r;
  out[1] = g;
  out[2] = b;
}

function surfaceAlbedo(surface: Surface, noise: NoiseField, x: number, y: number, out: Float64Array): void {
  switch (surface) {
    case "white-paper": {
      const f = 1 + 0.015 * noise.cloud(x, y);
      set(out, 0.86 * f, 0.85 * f, 0.83 * f);
      return;
    }
    case "cloth": {
      // Threads of about 0.9 mm, over and under.
      const warp = 0.35 * noise.at(x / 9, y / 9);
      const over = Math.sin((x + warp) * 7) * Math.sin((y - warp) * 7);
      const f = 1 + 0.22 * over + 0.25 * noise.cloud(x / 1.7, y / 1.7) + 0.2 * noise.at(x / 25, y / 25);
      set(out, 0.12 * f, 0.16 * f, 0.2 * f);
      return;
    }
    case "wood": {
      const bend = 3 * noise.at(x / 60, y / 25) + 0.6 * noise.at(x / 13, y / 7);
      const ring = Math.sin((y + 2.2 * bend) * 0.9 + bend);
      const grain = noise.at(x / 7, y * 4.5);
      const f = 1 + 0.16 * ring + 0.13 * grain;
      set(out, 0.34 * f, 0.19 * f * (1 - 0.02 * ring), 0.085 * f * (1 - 0.05 * ring));
      return;
    }
    case "dark-board": {
      const f = 1 + 0.2 * noise.cloud(x, y);
      set(out, 0.035 * f, 0.037 * f, 0.04 * f);
      return;
    }
    case "light-table":
      set(out, 0.92, 0.93, 0.92);
      return;
  }
}
