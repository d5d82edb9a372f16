import type { Photo } from "../photo/index.js";
import { ok, type Outcome } from "../problem/index.js";
import type { ClassMap } from "./class-map.js";
import { wholeNumber } from "./model-file.js";
import { openNetwork, type OpenOptions } from "./open-network.js";
import { readLogits } from "./read-logits.js";
import { shrinkPhoto, type ShrunkPhoto } from "./shrunk-photo.js";

/** The network was trained on pictures whose parts look as large as at this size. */
export const defaultLongSidePx = 1024;

export type LoadSegmenterOptions = OpenOptions;

export interface ClassifyOptions {
  /** Longest side that the network sees, px; default 1024. Half of it takes a quarter of the time. */
  readonly longSidePx?: number;
}

/** The network, ready for any number of photographs. */
export interface Segmenter {
  /** Of the network's file, lower-case hex. */
  readonly sha256: string;
  /** Class of every cell of a photograph. */
  classify(photo: Pick<Photo, "widthPx" | "heightPx" | "rgb">, options?: ClassifyOptions): Promise<ClassMap>;
  /** The same for a picture that is small already, so that shrinking is done once. */
  classifyShrunk(picture: ShrunkPhoto): Promise<ClassMap>;
  /** Frees the network's memory; the segmenter is of no use afterwards. */
  close(): Promise<void>;
}

/**
 * Reads the network, checks its SHA-256 and prepares it.
 *
 * @returns the segmenter, or problem "file-unreadable" with one line to show: the classical way goes on.
 */
export async function loadSegmenter(options: LoadSegmenterOptions = {}): Promise<Outcome<Segmenter>> {
  const opened = await openNetwork(
    "metal",
    ({ stride, classes }) => {
      const multiple = wholeNumber(stride, 256);
      return multiple !== undefined && Array.isArray(classes)
        ? { stride: multiple, classCount: classes.length }
        : undefined;
    },
    options,
  );
  if (!opened.ok) return opened;
  const { runtime, session, sha256 } = opened.value;
  const { stride, classCount } = opened.value.shape;

  const classifyShrunk = async (picture: ShrunkPhoto): Promise<ClassMap> => {
    const { width, height, factorX, factorY } = picture;
    const planeWidth = stride * Math.ceil(width / stride);
    const planeHeight = stride * Math.ceil(height / stride);
    const input = planesOf(picture, planeWidth, planeHeight);
    const tensor = new runtime.Tensor("float32", input, [1, 3, planeHeight, planeWidth]);
    const { logits } = await session.run({ rgb: tensor });
    const values = logits?.data;
    if (!(values instanceof Float32Array) || values.length !== classCount * planeWidth * planeHeight)
      throw new Error(
        `segmentation network: expected ${classCount} planes of ${planeWidth} x ${planeHeight}`,
      );
    const cells = readLogits(values, planeWidth, planeHeight, width, height);
    return { width, height, factorX, factorY, ...cells };
  };
  return ok({
    sha256,
    classify: (photo, { longSidePx = defaultLongSidePx } = {}) =>
      classifyShrunk(shrinkPhoto(photo, longSidePx)),
    classifyShrunk,
    close: () => session.release(),
  });
}

/** Red, green and blue planes, 0 to 255; what lies beyond the picture repeats its edge. */
function planesOf(picture: ShrunkPhoto, planeWidth: number, planeHeight: number): Float32Array {
  const { width, height, rgb } = picture;
  const plane = planeWidth * planeHeight;
  const out = new Float32Array(3 * plane);
  for (let j = 0; j < planeHeight; j++) {
    let p = 3 * width * Math.min(j, height - 1);
    let o = j * planeWidth;
    for (let i = 0; i < width; i++, p += 3, o++) {
      out[o] = rgb[p]!;
      out[plane + o] = rgb[p + 1]!;
      out[2 * plane + o] = rgb[p + 2]!;
    }
    for (let i = width; i < planeWidth; i++, o++) {
      out[o] = out[o - 1]!;
      out[plane + o] = out[plane + o - 1]!;
      out[2 * plane + o] = out[2 * plane + o - 1]!;
    }
  }
  return out;
}
