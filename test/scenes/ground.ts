import { describeSheet } from "../../src/mat/index.js";
import type { Sheet } from "../../src/mat/index.js";
import { blackCells } from "./marker-print.js";
import type { NoiseField } from "./noise-field.js";
import type { Ground, Surface } from "./scene.js";

/** What lies at z = 0. Codes tell surfaces apart for the edge search. */
export const groundCode = { paper: 0, ink: 1, grey: 2, under: 3, underDark: 4 } as const;

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
  const halfX = sheet.widthMm / 2;
  const halfY = sheet.heightMm / 2;
  const { printScaleAcross, printScaleAlong, bowMm, under } = ground;
  return {
    codeAt(x, y) {
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
      // sRGB 128 printed as 21.6 % of the paper's white.
      else if (code === groundCode.grey) set(out, 0.186 * fibre, 0.186 * fibre, 0.182 * fibre);
      else {
        const toner = 0.042 * (1 + 0.15 * noise.at(x * 2.1, y * 2.1));
        set(out, toner, toner, toner * 1.05);
      }
    },
    heightAt(x, y) {
      if (Math.abs(x) > halfX || Math.abs(y) > halfY) return 0;
      return bowMm * 0.5 * (1 + Math.cos((Math.PI * y) / halfY)) * (1 - 0.3 * (x / halfX) ** 2);
    },
    bowed: bowMm !== 0,
    shining: false,
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
  for (const bar of sheet.bars) {
    const [x0, y0] = bar.fromMm;
    const [x1, y1] = bar.toMm;
    const across = bar.direction === "across";
    // A thin line between two end marks.
    rectangle(
      Math.min(x0, x1) - 0.15,
      Math.min(y0, y1) - 0.15,
      Math.max(x0, x1) + 0.15,
      Math.max(y0, y1) + 0.15,
      1,
    );
    for (const [x, y] of [bar.fromMm, bar.toMm]) {
      if (across) rectangle(x - 0.1, y - 2.5, x + 0.1, y + 2.5, groundCode.ink);
      else rectangle(x - 2.5, y - 0.1, x + 2.5, y + 0.1, groundCode.ink);
    }
  }
  const patch = sheet.greyPatch;
  const [px, py] = patch.centreMm;
  rectangle(
    px - patch.widthMm / 2,
    py - patch.heightMm / 2,
    px + patch.widthMm / 2,
    py + patch.heightMm / 2,
    2,
  );
  for (const cross of sheet.pierceCrosses) {
    const [x, y] = cross.atMm;
    rectangle(x - 3, y - 0.1, x + 3, y + 0.1, groundCode.ink);
    rectangle(x - 0.1, y - 3, x + 0.1, y + 3, groundCode.ink);
  }
  return (x, y) => {
    const list = cells[cellOf(x, y)];
    if (!list) return groundCode.paper;
    for (const shape of list) {
      const code = shape(x, y);
      if (code !== 0) return code;
    }
    return groundCode.paper;
  };
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
