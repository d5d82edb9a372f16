import type { ViewGeometry } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { cellFromPhoto } from "../../segment/index.js";
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
 * @param pxPerMm of the photograph there; @param wantedPxPerMm of the enlarged picture. @returns undefined where there is no network, or nothing of the box is in the picture.
 */
export async function metalUpClose(
  photo: Photo,
  geometry: ViewGeometry,
  box: PhotoBox,
  pxPerMm: number,
  wantedPxPerMm: number,
  classify: Classify,
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
  const metal = new Uint8Array(w * h);
  for (let j = 0, p = 0; j < h; j++) {
    const row = classes.width * nearest(classes.factorY, j, classes.height);
    for (let i = 0; i < w; i++, p++)
      metal[p] = classes.metal[row + nearest(classes.factorX, i, classes.width)]!;
  }
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

const nearest = (factor: number, u: number, cells: number): number =>
  Math.min(cells - 1, Math.max(0, Math.round(cellFromPhoto(factor, u))));

/** Opens a grey picture: least, then greatest value within `reach` pixels along and down. */
function withoutThin(from: Uint8Array, w: number, h: number, reach: number): Uint8Array {
  const pass = (
    source: Uint8Array,
    least: boolean,
    count: number,
    step: number,
    lines: number,
    next: number,
  ): Uint8Array => {
    const out = new Uint8Array(source.length);
    for (let line = 0; line < lines; line++)
      for (let i = 0, p = line * next; i < count; i++, p += step) {
        let best = source[p]!;
        for (let d = Math.max(-reach, -i); d <= Math.min(reach, count - 1 - i); d++) {
          const v = source[p + d * step]!;
          if (least ? v < best : v > best) best = v;
        }
        out[p] = best;
      }
    return out;
  };
  let metal = from;
  for (const least of [true, false]) {
    metal = pass(metal, least, w, 1, h, w);
    metal = pass(metal, least, h, w, w, 1);
  }
  return metal;
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
  for (let j = 0, o = 0; j < h; j++) {
    const v = Math.min(heightPx - 1.001, Math.max(0, top + (j + 0.5) / sy - 0.5));
    const jv = Math.floor(v);
    const fv = v - jv;
    for (let i = 0; i < w; i++) {
      const u = Math.min(widthPx - 1.001, Math.max(0, left + (i + 0.5) / sx - 0.5));
      const iu = Math.floor(u);
      const fu = u - iu;
      const p = 3 * (jv * widthPx + iu);
      const q = p + 3 * widthPx;
      for (let c = 0; c < 3; c++, o++) {
        const upper = rgb[p + c]! + fu * (rgb[p + 3 + c]! - rgb[p + c]!);
        const lower = rgb[q + c]! + fu * (rgb[q + 3 + c]! - rgb[q + c]!);
        out[o] = upper + fv * (lower - upper) + 0.5;
      }
    }
  }
  return out;
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
