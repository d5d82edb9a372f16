import { describeSheet, papers, tagOfMarker, type Paper, type Sheet } from "../mat/index.js";
import type { Photo } from "../photo/index.js";
import { findQuads } from "./find-quads.js";
import type { LinearLight } from "./linear-light.js";
import { readMarker, type ReadMarker } from "./read-marker.js";

export interface FoundMarkers {
  /** Markers of mats, and of tags; the same id may occur more than once. */
  readonly ofMats: readonly ReadMarker[];
  readonly ofTags: readonly ReadMarker[];
  /** Read only as in a mirror. */
  readonly mirroredCount: number;
  /** Size of a pixel of the shrunken picture in which the corners were found, px. */
  readonly roughnessPx: number;
}

/** Enough pixels that a mat filling a third of the picture's width is read, few enough to be quick. */
const firstTryPixels = 0.8e6;
const secondTryPixels = 4e6;
const enoughMarkers = 8;

/** All markers and tags that can be read in a photograph; corners to about a pixel of the shrunken picture. */
export function findMarkers(
  photo: Pick<Photo, "rgb" | "widthPx" | "heightPx">,
  light: LinearLight,
): FoundMarkers {
  const pixels = photo.widthPx * photo.heightPx;
  const factorFor = (most: number): number => Math.max(1, Math.round(Math.sqrt(pixels / most)));
  const first = factorFor(firstTryPixels);
  let found = readAll(photo, light, first);
  const second = factorFor(secondTryPixels);
  if (found.filter(({ mirrored }) => !mirrored).length < enoughMarkers && second < first) {
    found = withoutRepeats([...found, ...readAll(photo, light, second)]);
  }
  const plain = found.filter(({ mirrored }) => !mirrored);
  return {
    ofMats: plain.filter(({ id }) => sheetOfMarker(id) !== undefined),
    ofTags: plain.filter(({ id }) => tagOfMarker(id) !== undefined),
    mirroredCount: found.length - plain.length,
    roughnessPx: first,
  };
}

function readAll(
  photo: Pick<Photo, "rgb" | "widthPx" | "heightPx">,
  light: LinearLight,
  factor: number,
): ReadMarker[] {
  const out: ReadMarker[] = [];
  for (const quad of findQuads(photo, factor)) {
    const read = readMarker(light, quad);
    if (read) out.push(read);
  }
  return withoutRepeats(out);
}

/** One marker may be found twice (at two scales, or by an inner and an outer outline): the better reading stays. */
function withoutRepeats(reads: readonly ReadMarker[]): ReadMarker[] {
  const kept: ReadMarker[] = [];
  for (const read of [...reads].sort((a, b) => a.wrongCells - b.wrongCells)) {
    const [x, y] = centreOf(read);
    const size = Math.hypot(read.corners[4]! - read.corners[0]!, read.corners[5]! - read.corners[1]!);
    const repeat = kept.some((other) => {
      const [ox, oy] = centreOf(other);
      return Math.hypot(x - ox, y - oy) < 0.5 * size;
    });
    if (!repeat) kept.push(read);
  }
  return kept;
}

export function centreOf({ corners }: Pick<ReadMarker, "corners">): [number, number] {
  let x = 0;
  let y = 0;
  for (let c = 0; c < 4; c++) {
    x += corners[2 * c]! / 4;
    y += corners[2 * c + 1]! / 4;
  }
  return [x, y];
}

let sheets: ReadonlyMap<Paper, Sheet> | undefined;
let paperOf: ReadonlyMap<number, Paper> | undefined;

export function sheetOf(paper: Paper): Sheet {
  sheets ??= new Map(papers.map((name) => [name, describeSheet(name)]));
  return sheets.get(paper)!;
}

export function sheetOfMarker(id: number): Sheet | undefined {
  paperOf ??= new Map(papers.flatMap((paper) => sheetOf(paper).markers.map((marker) => [marker.id, paper])));
  const paper = paperOf.get(id);
  return paper && sheetOf(paper);
}
