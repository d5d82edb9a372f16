import type { ViewGeometry } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { cellFromPhoto, type ClassMap } from "../../segment/index.js";
import { medianOf } from "../../fit/index.js";
import { rawColour } from "../brassiness.js";
import { PlaneToPixel } from "../face-plane.js";
import type { Classify } from "./find-round-parts.js";

/** A corner of the photograph as the network sees it from close: how surely each pixel is metal. */
export interface MetalUpClose {
  readonly widthPx: number;
  readonly heightPx: number;
  /** 0 to 255, one byte a pixel, row-major. */
  readonly metal: Uint8Array;
  /** The same camera, its pixels those of this picture. */
  readonly geometry: ViewGeometry;
}

export interface PhotoBox {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

const mostScale = 4;
/** Crosses and letters printed on the mat are drawn with thinner lines; leaves are wider, mm. */
const thinnestMm = 0.35;
const mostSidePx = 720;

/**
 * Asks the network about a small part of the photograph, enlarged: steel has no colour, and only shape and texture
 * tell it from its own shadow.
 *
 * @param pxPerMm of the photograph there; @param wantedPxPerMm of the enlarged picture. @param withBrass takes what has
 * its colour for metal as well. @returns undefined where there is no network, or nothing of the box is in the picture.
 */
export async function metalUpClose(
  photo: Photo,
  geometry: ViewGeometry,
  box: PhotoBox,
  pxPerMm: number,
  wantedPxPerMm: number,
  classify: Classify,
  withBrass = false,
): Promise<MetalUpClose | undefined> {
  const left = Math.max(0, Math.floor(box.left));
  const top = Math.max(0, Math.floor(box.top));
  const width = Math.min(photo.widthPx, Math.ceil(box.left + box.width)) - left;
  const height = Math.min(photo.heightPx, Math.ceil(box.top + box.height)) - top;
  if (width < 16 || height < 16) return undefined;
  const scale = Math.min(mostScale, wantedPxPerMm / pxPerMm, mostSidePx / Math.max(width, height));
  const [w, h] = [Math.round(width * scale), Math.round(height * scale)];
  const [sx, sy] = [w / width, h / height];
  const rgb = enlarged(photo, left, top, w, h, sx, sy);
  const classes = await classify({ widthPx: w, heightPx: h, rgb });
  if (classes === undefined) return undefined;
  const seen = atPixels(classes, w, h);
  const metal = withBrass ? orBrass(seen, rgb) : seen;
  const thin = Math.round((thinnestMm * pxPerMm * scale - 1) / 2);
  const { camera } = geometry;
  return {
    widthPx: w,
    heightPx: h,
    metal: thin > 0 ? withoutThin(metal, w, h, thin) : metal,
    geometry: {
      ...geometry,
      camera: {
        ...camera,
        fxPx: camera.fxPx * sx,
        fyPx: camera.fyPx * sy,
        cxPx: (camera.cxPx - left + 0.5) * sx - 0.5,
        cyPx: (camera.cyPx - top + 0.5) * sy - 0.5,
      },
    },
  };
}

/** More colour than the paper: brass has 0.1 and more, shade and steel have none. */
const brassColour = 0.09;

/** What is as yellow as brass is metal, whatever else the network takes it for; most of the picture is paper. */
function orBrass(metal: Uint8Array, rgb: Uint8Array): Uint8Array {
  const colour = Float32Array.from(metal, (_, p) =>
    rawColour({ red: rgb[3 * p]!, green: rgb[3 * p + 1]!, blue: rgb[3 * p + 2]! }),
  );
  const paper = medianOf(colour.filter((_, p) => p % 7 === 0));
  return metal.map((m, p) => (colour[p]! - paper > brassColour ? 255 : m));
}

/** The network's cell nearest to each pixel: as a rule the network saw this very picture. */
function atPixels({ metal, width, height, factorX, factorY }: ClassMap, w: number, h: number): Uint8Array {
  if (factorX === 1 && factorY === 1 && width === w && height === h) return metal;
  const columns = nearestCells(factorX, w, width);
  const rows = nearestCells(factorY, h, height);
  const out = new Uint8Array(w * h);
  for (let j = 0, p = 0; j < h; j++)
    for (let i = 0; i < w; i++, p++) out[p] = metal[rows[j]! * width + columns[i]!]!;
  return out;
}

const nearestCells = (factor: number, pixels: number, cells: number): Int32Array =>
  Int32Array.from({ length: pixels }, (_, u) =>
    Math.min(cells - 1, Math.max(0, Math.round(cellFromPhoto(factor, u)))),
  );

/** Opens a grey picture: least, then greatest value within `reach` pixels along and down. */
function withoutThin(from: Uint8Array, w: number, h: number, reach: number): Uint8Array {
  const wide = w + 2 * reach;
  // Nothing beyond the picture is the least.
  const padded = new Uint8Array(wide * (h + 2 * reach));
  let picture = from;
  // The greatest value is the least of what is missing to 255.
  for (let pass = 0; pass < 2; pass++) {
    padded.fill(255);
    for (let j = 0; j < h; j++) padded.set(picture.subarray(j * w, (j + 1) * w), (j + reach) * wide + reach);
    leastOfNext(padded, 2 * reach + 1, 1);
    leastOfNext(padded, 2 * reach + 1, wide);
    picture = new Uint8Array(w * h);
    for (let j = 0; j < h; j++) picture.set(padded.subarray(j * wide, j * wide + w), j * w);
    invert(picture);
  }
  return picture;
}

/** Each byte becomes the least of `count` that follow each other from it on, `step` apart. */
function leastOfNext(bytes: Uint8Array, count: number, step: number): void {
  let reached = 1;
  for (; 2 * reached <= count; reached *= 2) leastWithNext(bytes, reached * step);
  if (reached < count) leastWithNext(bytes, (count - reached) * step);
}

function leastWithNext(bytes: Uint8Array, ahead: number): void {
  for (let p = 0, q = ahead; q < bytes.length; p++, q++) {
    const next = bytes[q]!;
    if (next < bytes[p]!) bytes[p] = next;
  }
}

function invert(bytes: Uint8Array): void {
  for (let p = 0; p < bytes.length; p++) bytes[p] = 255 - bytes[p]!;
}

/** Bilinear; shrinking (scale below 1) goes by at most a half and needs no filter. */
function enlarged(
  { rgb, widthPx, heightPx }: Photo,
  left: number,
  top: number,
  w: number,
  h: number,
  sx: number,
  sy: number,
): Uint8Array {
  const out = new Uint8Array(3 * w * h);
  // What lies left of each pixel, and how far the pixel is on the way to what lies right of it.
  const from = new Int32Array(w);
  const share = new Float64Array(w);
  for (let i = 0; i < w; i++) {
    const u = Math.min(widthPx - 1.001, Math.max(0, left + (i + 0.5) / sx - 0.5));
    from[i] = 3 * Math.floor(u);
    share[i] = u - Math.floor(u);
  }
  for (let j = 0; j < h; j++) {
    const v = Math.min(heightPx - 1.001, Math.max(0, top + (j + 0.5) / sy - 0.5));
    const row = 3 * widthPx * Math.floor(v);
    betweenRows(rgb, row, row + 3 * widthPx, v - Math.floor(v), from, share, out, 3 * w * j);
  }
  return out;
}

function betweenRows(
  rgb: Uint8Array,
  upperRow: number,
  lowerRow: number,
  fv: number,
  from: Int32Array,
  share: Float64Array,
  out: Uint8Array,
  start: number,
): void {
  for (let i = 0, o = start; i < from.length; i++) {
    const fu = share[i]!;
    for (let c = 0, p = upperRow + from[i]!, q = lowerRow + from[i]!; c < 3; c++, o++, p++, q++) {
      const upper = rgb[p]! + fu * (rgb[p + 3]! - rgb[p]!);
      const lower = rgb[q]! + fu * (rgb[q + 3]! - rgb[q]!);
      out[o] = upper + fv * (lower - upper) + 0.5;
    }
  }
}

/** A picture in which everything is metal that is so in either, on the pixels of the first. */
export function eitherUpClose(one: MetalUpClose, other: MetalUpClose): MetalUpClose {
  const [a, b] = [one.geometry.camera, other.geometry.camera];
  const metal = one.metal.map((m, p) => {
    const u = Math.round(((p % one.widthPx) - a.cxPx) * (b.fxPx / a.fxPx) + b.cxPx);
    const v = Math.round((Math.floor(p / one.widthPx) - a.cyPx) * (b.fyPx / a.fyPx) + b.cyPx);
    const isIn = u >= 0 && v >= 0 && u < other.widthPx && v < other.heightPx;
    return isIn ? Math.max(m, other.metal[v * other.widthPx + u]!) : m;
  });
  return { ...one, metal };
}

/** How surely a point of a plane is metal, 0 to 1, bilinear; NaN outside the picture. */
export class MetalSampler {
  readonly #map: PlaneToPixel;
  readonly #close: MetalUpClose;

  constructor(close: MetalUpClose, zMm: number) {
    this.#close = close;
    this.#map = new PlaneToPixel(close.geometry, zMm);
  }

  at(xMm: number, yMm: number): number {
    const { metal, widthPx, heightPx } = this.#close;
    this.#map.at(xMm, yMm);
    const { u, v } = this.#map;
    const iu = Math.floor(u);
    const iv = Math.floor(v);
    if (!(iu >= 0 && iv >= 0 && iu < widthPx - 1 && iv < heightPx - 1)) return NaN;
    const p = iv * widthPx + iu;
    const fu = u - iu;
    const upper = metal[p]! + fu * (metal[p + 1]! - metal[p]!);
    const lower = metal[p + widthPx]! + fu * (metal[p + widthPx + 1]! - metal[p + widthPx]!);
    return (upper + (v - iv) * (lower - upper)) / 255;
  }
}
