import { homographyFromPoints, mapPoint, type Homography } from "../geometry/index.js";
import { markerCornersMm, papers, type Sheet } from "../mat/index.js";
import { centreOf, sheetOf, sheetOfMarker } from "./find-markers.js";
import type { ReadMarker } from "./read-marker.js";

/** One sheet in the picture: markers that lie where one plane puts them. */
export interface SeenSheet {
  readonly sheet: Sheet;
  readonly markers: readonly ReadMarker[];
  /** Nominal mat mm to px, lens distortion not allowed for. */
  readonly pixelFromMat: Homography;
}

/** Sheets in the picture, the one with most markers first. A lone marker makes a sheet only where there is no other. */
export function chooseSheets(reads: readonly ReadMarker[]): SeenSheet[] {
  const out: SeenSheet[] = [];
  for (const paper of papers) {
    const sheet = sheetOf(paper);
    let left = reads.filter(({ id }) => sheetOfMarker(id) === sheet);
    // Two copies of one paper share their ids: take the larger consistent group, then look at what is left.
    while (left.length > 0) {
      const seen = largestGroup(sheet, left);
      if (!seen) break;
      out.push(seen);
      left = left.filter((read) => !seen.markers.includes(read));
    }
  }
  out.sort((a, b) => b.markers.length - a.markers.length);
  return out.filter(({ markers }, i) => i === 0 || markers.length > 1);
}

/** Nominal corners of a marker, x0, y0 ... x3, y3, mm. */
export function nominalCornersMm(sheet: Sheet, id: number): Float64Array {
  let corners = cornersOf.get(id);
  if (!corners) {
    const marker = sheet.markers.find((candidate) => candidate.id === id)!;
    corners = Float64Array.from(markerCornersMm(marker, sheet.markerSizeMm).flat());
    cornersOf.set(id, corners);
  }
  return corners;
}

/** An id belongs to one sheet only. */
const cornersOf = new Map<number, Float64Array>();

function largestGroup(sheet: Sheet, reads: readonly ReadMarker[]): SeenSheet | undefined {
  let best: SeenSheet | undefined;
  const consider = (seed: readonly ReadMarker[]): void => {
    let group = seed;
    let h = homographyOf(sheet, group);
    for (let pass = 0; h && pass < 3; pass++) {
      group = inliers(sheet, reads, h);
      const next = group.length >= seed.length ? homographyOf(sheet, group) : undefined;
      if (!next) break;
      h = next;
    }
    if (h && group.length >= seed.length && group.length > (best?.markers.length ?? 0)) {
      best = { sheet, markers: group, pixelFromMat: h };
    }
  };
  // Pairs far apart in the list lie far apart on the ring; stop once nearly all agree.
  const n = reads.length;
  let tries = 0;
  for (let gap = Math.max(1, n >> 1); gap >= 1 && tries < 60; gap = gap > 1 ? Math.floor(gap / 2) : 0) {
    for (let i = 0; i < n && tries < 60; i++) {
      const j = i + gap;
      if (j >= n) break;
      if (reads[i]!.id === reads[j]!.id) continue;
      tries++;
      consider([reads[i]!, reads[j]!]);
      if (best && best.markers.length >= 0.9 * n) return best;
    }
  }
  if (!best && n > 0) consider([reads[0]!]);
  return best;
}

function homographyOf(sheet: Sheet, group: readonly ReadMarker[]): Homography | undefined {
  const from = group.flatMap(({ id }) => [...nominalCornersMm(sheet, id)]);
  const to = group.flatMap(({ corners }) => [...corners]);
  return homographyFromPoints(from, to);
}

/** Markers within 0.6 of their side of where `h` puts them (a neighbour is 1.4 off; lenses bend by less), one per id. */
function inliers(sheet: Sheet, reads: readonly ReadMarker[], h: Homography): ReadMarker[] {
  const nearest = new Map<number, { read: ReadMarker; distance: number }>();
  for (const read of reads) {
    const nominal = nominalCornersMm(sheet, read.id);
    const [x, y] = centreOf({ corners: nominal });
    const [u, v] = mapPoint(h, x, y);
    const [seenU, seenV] = centreOf(read);
    const distance = Math.hypot(u - seenU, v - seenV);
    const c = read.corners;
    const side = Math.min(Math.hypot(c[2]! - c[0]!, c[3]! - c[1]!), Math.hypot(c[4]! - c[2]!, c[5]! - c[3]!));
    const [tx, ty] = mapPoint(h, nominal[0]!, nominal[1]!);
    // Same turn, too: the printed top left corner points the same way from the centre.
    const aligned = (tx - u) * (c[0]! - seenU) + (ty - v) * (c[1]! - seenV) > 0;
    if (!(distance < 0.6 * side) || !aligned) continue;
    const known = nearest.get(read.id);
    if (!known || distance < known.distance) nearest.set(read.id, { read, distance });
  }
  return [...nearest.values()].map(({ read }) => read);
}
