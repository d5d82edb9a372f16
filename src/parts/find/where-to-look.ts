import { printedAreas, type View } from "../../view/index.js";
import { smallFromPhoto, type SmallPicture } from "./small-picture.js";

/** 1 for small pixels that show the plain part of the mat, or the whole picture when there is no mat. */
export function whereToLook(picture: SmallPicture, view: View): Uint8Array {
  const where = new Uint8Array(picture.width * picture.height);
  const small = (p: readonly (readonly [number, number])[]): [number, number][] =>
    p.map(([u, v]) => [smallFromPhoto(picture, u), smallFromPhoto(picture, v)]);
  const areas = printedAreas(view, photoSize(picture));
  if (areas === undefined) where.fill(1);
  else {
    fillPolygon(where, picture, small(areas.sheet), 1);
    // Printed black is neither paper nor part.
    for (const polygon of areas.printed) fillPolygon(where, picture, small(polygon), 0);
  }
  for (const tag of view.tags) fillPolygon(where, picture, tagCard(picture, tag.cornersPx), 0);
  return where;
}

/** 1 for small pixels of the plain working field, but for tags; undefined without a mat. */
export function plainField(picture: SmallPicture, view: View): Uint8Array | undefined {
  const areas = printedAreas(view, photoSize(picture));
  if (areas === undefined) return undefined;
  const field = new Uint8Array(picture.width * picture.height);
  const corners = areas.field.map(([u, v]): [number, number] => [
    smallFromPhoto(picture, u),
    smallFromPhoto(picture, v),
  ]);
  fillPolygon(field, picture, corners, 1);
  for (const tag of view.tags) {
    fillPolygon(field, picture, tagCard(picture, tag.cornersPx), 0);
    fillPolygon(field, picture, tagLabel(picture, tag.cornersPx), 0);
  }
  return field;
}

/** Less than a small pixel may be missing from it. */
const photoSize = ({ width, height, factor }: SmallPicture): { widthPx: number; heightPx: number } => ({
  widthPx: width * factor,
  heightPx: height * factor,
});

/** The cut-out card of a tag reaches well beyond its marker, on all sides. */
function tagCard(picture: SmallPicture, corners: readonly (readonly [number, number])[]): [number, number][] {
  const cu = corners.reduce((s, c) => s + c[0], 0) / corners.length;
  const cv = corners.reduce((s, c) => s + c[1], 0) / corners.length;
  const grow = 1.45;
  return corners.map(([u, v]) => [
    smallFromPhoto(picture, cu + grow * (u - cu)),
    smallFromPhoto(picture, cv + grow * (v - cv)),
  ]);
}

/** The large label stands to the right of the marker, as far again as the marker is wide; corners from the top left on. */
function tagLabel(
  picture: SmallPicture,
  corners: readonly (readonly [number, number])[],
): [number, number][] {
  const [topLeft, topRight, bottomRight, bottomLeft] = corners;
  if (!topLeft || !topRight || !bottomRight || !bottomLeft) return [];
  const beyond = (
    from: readonly [number, number],
    to: readonly [number, number],
    by: number,
  ): [number, number] => [
    smallFromPhoto(picture, to[0] + by * (to[0] - from[0])),
    smallFromPhoto(picture, to[1] + by * (to[1] - from[1])),
  ];
  return [
    beyond(topLeft, topRight, 0),
    beyond(topLeft, topRight, 1.05),
    beyond(bottomLeft, bottomRight, 1.05),
    beyond(bottomLeft, bottomRight, 0),
  ];
}

/** Scan-line fill of a convex polygon; corners outside the picture, or behind the camera (NaN), are allowed. */
export function fillPolygon(
  out: Uint8Array,
  picture: Pick<SmallPicture, "width" | "height">,
  corners: readonly (readonly [number, number])[],
  value: number,
): void {
  if (corners.some((c) => Number.isNaN(c[0]))) return;
  const top = Math.max(0, Math.ceil(Math.min(...corners.map((c) => c[1]))));
  const bottom = Math.min(picture.height - 1, Math.floor(Math.max(...corners.map((c) => c[1]))));
  for (let j = top; j <= bottom; j++) {
    let from = Infinity;
    let to = -Infinity;
    corners.forEach((p, i) => {
      const q = corners[(i + 1) % corners.length]!;
      if (p[1] === q[1] || Math.min(p[1], q[1]) > j || Math.max(p[1], q[1]) < j) return;
      const x = p[0] + ((j - p[1]) / (q[1] - p[1])) * (q[0] - p[0]);
      from = Math.min(from, x);
      to = Math.max(to, x);
    });
    const a = Math.max(0, Math.ceil(from));
    const b = Math.min(picture.width - 1, Math.floor(to));
    if (b >= a) out.fill(value, j * picture.width + a, j * picture.width + b + 1);
  }
}
