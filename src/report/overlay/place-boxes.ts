import type { XyPx } from "./frame.js";

export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export interface Disc {
  readonly centre: XyPx;
  readonly radius: number;
}

/** Area of two boxes on top of each other. */
function overlap(a: Box, b: Box): number {
  const w = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x);
  const h = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y);
  return w > 0 && h > 0 ? w * h : 0;
}

/** Length by which a disc reaches into a box: 0 when they are apart. */
function reach(disc: Disc, box: Box): number {
  const x = Math.min(Math.max(disc.centre[0], box.x), box.x + box.width);
  const y = Math.min(Math.max(disc.centre[1], box.y), box.y + box.height);
  return Math.max(0, disc.radius - Math.hypot(disc.centre[0] - x, disc.centre[1] - y));
}

/**
 * Finds a place beside `disc` for a box of the given size: inside the picture, off every disc and every box
 * already placed, as near as may be.
 */
export function placeBeside(
  size: { readonly width: number; readonly height: number },
  disc: Disc,
  picture: Box,
  discs: readonly Disc[],
  taken: readonly Box[],
): Box {
  let best: Box | undefined;
  let bestCost = Infinity;
  const clamp = (v: number, from: number, to: number): number => Math.max(from, Math.min(to, v));
  for (let ring = 0; ring < 10; ring++) {
    for (let k = 0; k < 48; k++) {
      // Right and left first: a box beside reads better than one above.
      const angle = (k % 2 === 0 ? k / 2 : -(k + 1) / 2) * ((2 * Math.PI) / 48);
      const [dx, dy] = [Math.cos(angle), Math.sin(angle)];
      const half = Math.abs(dx) * (size.width / 2) + Math.abs(dy) * (size.height / 2);
      const distance = disc.radius + half + ring * 0.25 * size.height;
      const box: Box = {
        x: clamp(
          disc.centre[0] + dx * distance - size.width / 2,
          picture.x,
          picture.x + picture.width - size.width,
        ),
        y: clamp(
          disc.centre[1] + dy * distance - size.height / 2,
          picture.y,
          picture.y + picture.height - size.height,
        ),
        ...size,
      };
      const covered = discs.reduce((sum, other) => sum + reach(other, box) ** 2, 0);
      const cost =
        20 * covered +
        20 * taken.reduce((sum, other) => sum + overlap(box, other), 0) +
        Math.hypot(box.x + size.width / 2 - disc.centre[0], box.y + size.height / 2 - disc.centre[1]);
      if (cost < bestCost) [best, bestCost] = [box, cost];
    }
  }
  return best!;
}

/** The corner of the picture where a box covers least. */
export function placeInCorner(
  size: { readonly width: number; readonly height: number },
  picture: Box,
  discs: readonly Disc[],
  taken: readonly Box[],
): Box {
  const right = picture.x + picture.width - size.width;
  const bottom = picture.y + picture.height - size.height;
  const corners: Box[] = [
    { x: picture.x, y: bottom, ...size },
    { x: right, y: bottom, ...size },
    { x: picture.x, y: picture.y, ...size },
    { x: right, y: picture.y, ...size },
  ];
  const cost = (box: Box): number =>
    discs.reduce((sum, disc) => sum + reach(disc, box) * size.width, 0) +
    taken.reduce((sum, other) => sum + overlap(box, other), 0);
  return corners.reduce((best, box) => (cost(box) < cost(best) ? box : best));
}
