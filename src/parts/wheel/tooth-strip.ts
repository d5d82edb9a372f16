import type { Photo } from "../../photo/index.js";
import { PlaneToPixel, pxPerMmOnFace } from "../face-plane.js";
import type { Rim } from "./find-rim.js";

/** Rows of a strip; the first lies `stepsAboveTips` steps outside the tips, the others one step further in each. */
export const stripRows = 32;
export const stepsAboveTips = 8;
/** So many steps must lie between the middle of a wheel and its tips. */
const leastSteps = 30;
const finestStepPx = 0.5;
/** Columns that the network looks to either side: its answer at the seam needs them. */
const seam = 96;

/** The rim of a wheel unrolled about its centre, as `models/training/strips.py` cuts it out of rendered photographs. */
export interface ToothStrip {
  /** Red, green and blue planes of `stripRows` x `columns`, sRGB less their mean over their spread. */
  readonly planes: Float32Array;
  /** Columns, the seam at either end included. */
  readonly columns: number;
  /** Columns of the turn itself; the first of them is column `seam`. */
  readonly turn: number;
  readonly seam: number;
  /** 1 where a column of the turn lies in the picture. */
  readonly seen: Uint8Array;
}

/**
 * Reads the strip in the original pixels, bilinearly, at angles 2 pi i / turn counter-clockwise.
 *
 * @param stepPx between rows and between columns; never finer than half a pixel.
 * @returns undefined where the wheel is too small for a strip.
 */
export function readToothStrip(photo: Photo, { face, tipMm }: Rim, stepPx: number): ToothStrip | undefined {
  const pxPerMm = pxPerMmOnFace(face);
  const widestPx = (tipMm * pxPerMm) / leastSteps;
  if (!(widestPx >= finestStepPx)) return undefined;
  const step = Math.min(Math.max(finestStepPx, stepPx), widestPx);
  const stepMm = step / pxPerMm;
  const turn = Math.round((2 * Math.PI * tipMm) / stepMm);
  const columns = turn + 2 * seam;
  const plane = stripRows * columns;
  const planes = new Float32Array(3 * plane);
  const seen = new Uint8Array(turn).fill(1);
  const map = new PlaneToPixel(face.geometry, face.zMm);
  const [a, b, c, d] = face.affine;
  for (let i = 0; i < turn; i++) {
    const [cos, sin] = [Math.cos((2 * Math.PI * i) / turn), Math.sin((2 * Math.PI * i) / turn)];
    for (let j = 0; j < stripRows; j++) {
      const r = tipMm + (stepsAboveTips - j) * stepMm;
      map.at(face.xMm + r * (a * cos + b * sin), face.yMm + r * (c * cos + d * sin));
      if (!readPixel(photo, map.u, map.v, planes, j * columns + seam + i, plane)) seen[i] = 0;
    }
  }
  hideUnseen(planes, seen, columns);
  normalise(planes, seen, columns);
  closeSeam(planes, turn, columns);
  return { planes, columns, turn, seam, seen };
}

function readPixel(
  photo: Photo,
  u: number,
  v: number,
  out: Float32Array,
  at: number,
  plane: number,
): boolean {
  const { widthPx, heightPx, rgb } = photo;
  const [i, j] = [Math.floor(u), Math.floor(v)];
  if (!(i >= 0 && j >= 0 && i < widthPx - 1 && j < heightPx - 1)) return false;
  const [x, y] = [u - i, v - j];
  const p = 3 * (j * widthPx + i);
  const q = p + 3 * widthPx;
  for (let k = 0; k < 3; k++) {
    const above = rgb[p + k]! * (1 - x) + rgb[p + 3 + k]! * x;
    const below = rgb[q + k]! * (1 - x) + rgb[q + 3 + k]! * x;
    out[at + k * plane] = above * (1 - y) + below * y;
  }
  return true;
}

/** A column that leaves the picture somewhere is black as a whole: so it was in training. */
function hideUnseen(planes: Float32Array, seen: Uint8Array, columns: number): void {
  for (let i = 0; i < seen.length; i++)
    if (!seen[i]) for (let at = seam + i; at < planes.length; at += columns) planes[at] = 0;
}

function normalise(planes: Float32Array, seen: Uint8Array, columns: number): void {
  const rows = planes.length / columns;
  const count = rows * seen.length;
  let sum = 0;
  let squares = 0;
  for (let row = 0; row < rows; row++)
    for (let i = 0, at = row * columns + seam; i < seen.length; i++, at++) {
      sum += planes[at]!;
      squares += planes[at]! * planes[at]!;
    }
  const mean = sum / count;
  const scale = 1 / (Math.sqrt(Math.max(0, squares / count - mean * mean)) + 4);
  for (let at = 0; at < planes.length; at++) planes[at] = (planes[at]! - mean) * scale;
}

function closeSeam(planes: Float32Array, turn: number, columns: number): void {
  for (let start = 0; start < planes.length; start += columns)
    for (let i = 0; i < seam; i++) {
      planes[start + i] = planes[start + seam + ((i - seam + seam * turn) % turn)]!;
      planes[start + seam + turn + i] = planes[start + seam + (i % turn)]!;
    }
}
