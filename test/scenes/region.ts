/**
 * A flat region bounded by closed polygons (outer outline and holes, even-odd), made fast for three questions:
 * is a point inside, how far is the edge, and where does a segment first cross an edge. All in mm.
 */
export interface Region {
  readonly minX: number;
  readonly minY: number;
  readonly maxX: number;
  readonly maxY: number;
  isInside(x: number, y: number): boolean;
  /** Distance to the edge, positive inside; exact up to `bandMm`, cut off at +-bandMm beyond. */
  signedDistance(x: number, y: number): number;
  /** Share 0..1 of the way from a to b at which the first edge is crossed, or -1. Sets `edgeNormal`. */
  firstCrossing(ax: number, ay: number, bx: number, by: number): number;
  /** Outward unit normal of the edge that `firstCrossing` or `signedDistance` found last. */
  readonly edgeNormal: Float64Array;
}

const empty = new Int32Array(0);

/** @param bandMm how far from an edge `signedDistance` must be exact. */
export function regionOf(polygons: readonly Float64Array[], bandMm: number): Region {
  const edgeCount = polygons.reduce((sum, p) => sum + p.length / 2, 0);
  const ex = new Float64Array(2 * edgeCount);
  const ey = new Float64Array(2 * edgeCount);
  let e = 0;
  let minX = Infinity;
  let minY = Infinity;
  let maxX = -Infinity;
  let maxY = -Infinity;
  for (const p of polygons) {
    const n = p.length / 2;
    for (let i = 0; i < n; i++) {
      const j = (i + 1) % n;
      ex[2 * e] = p[2 * i]!;
      ey[2 * e] = p[2 * i + 1]!;
      ex[2 * e + 1] = p[2 * j]!;
      ey[2 * e + 1] = p[2 * j + 1]!;
      minX = Math.min(minX, p[2 * i]!);
      maxX = Math.max(maxX, p[2 * i]!);
      minY = Math.min(minY, p[2 * i + 1]!);
      maxY = Math.max(maxY, p[2 * i + 1]!);
      e++;
    }
  }
  const pad = bandMm + 1e-3;
  const x0 = minX - pad;
  const y0 = minY - pad;
  const spanX = maxX - minX + 2 * pad;
  const spanY = maxY - minY + 2 * pad;
  // About as many cells as keep a handful of edges each; never finer than a quarter of the band.
  const cell = Math.max(
    Math.max(spanX, spanY) / 360,
    Math.sqrt((spanX * spanY) / (12 * edgeCount + 400)) / 2,
    0.02,
  );
  const columns = Math.ceil(spanX / cell);
  const rows = Math.ceil(spanY / cell);
  const lists = new Array<number[] | undefined>(columns * rows);

  for (let k = 0; k < edgeCount; k++) {
    const ax = ex[2 * k]!;
    const ay = ey[2 * k]!;
    const bx = ex[2 * k + 1]!;
    const by = ey[2 * k + 1]!;
    // Long edges are entered piece by piece, so that a slanted one does not fill its whole bounding box.
    const pieces = Math.max(1, Math.ceil(Math.hypot(bx - ax, by - ay) / (2 * cell)));
    for (let s = 0; s < pieces; s++) {
      const px = ax + ((bx - ax) * s) / pieces;
      const py = ay + ((by - ay) * s) / pieces;
      const qx = ax + ((bx - ax) * (s + 1)) / pieces;
      const qy = ay + ((by - ay) * (s + 1)) / pieces;
      const c0 = Math.max(0, Math.floor((Math.min(px, qx) - pad - x0) / cell));
      const c1 = Math.min(columns - 1, Math.floor((Math.max(px, qx) + pad - x0) / cell));
      const r0 = Math.max(0, Math.floor((Math.min(py, qy) - pad - y0) / cell));
      const r1 = Math.min(rows - 1, Math.floor((Math.max(py, qy) + pad - y0) / cell));
      for (let r = r0; r <= r1; r++)
        for (let c = c0; c <= c1; c++) {
          const list = (lists[r * columns + c] ??= []);
          if (list[list.length - 1] !== k) list.push(k);
        }
    }
  }
  const edgesOf = lists.map((list) => (list ? Int32Array.from(list) : empty));
  // Array.prototype.map keeps holes; fill them so that look-ups stay fast.
  for (let i = 0; i < columns * rows; i++) edgesOf[i] ??= empty;
  // Off-centre by odd amounts: a reference point must not lie on an edge.
  const refX = (c: number): number => x0 + (c + 0.5137) * cell;
  const refY = (r: number): number => y0 + (r + 0.4879) * cell;
  const refInside = new Uint8Array(columns * rows);
  const crossings: number[][] = Array.from({ length: rows }, () => []);
  for (let k = 0; k < edgeCount; k++) {
    const ay = ey[2 * k]!;
    const by = ey[2 * k + 1]!;
    const r0 = Math.max(0, Math.floor((Math.min(ay, by) - y0) / cell) - 1);
    const r1 = Math.min(rows - 1, Math.floor((Math.max(ay, by) - y0) / cell) + 1);
    for (let r = r0; r <= r1; r++) {
      const y = refY(r);
      if (ay > y === by > y) continue;
      crossings[r]!.push(ex[2 * k]! + ((y - ay) / (by - ay)) * (ex[2 * k + 1]! - ex[2 * k]!));
    }
  }
  for (let r = 0; r < rows; r++) {
    const xs = crossings[r]!.sort((a, b) => a - b);
    let passed = 0;
    for (let c = 0; c < columns; c++) {
      while (passed < xs.length && xs[passed]! < refX(c)) passed++;
      refInside[r * columns + c] = passed & 1;
    }
  }

  const edgeNormal = new Float64Array(2);
  const insideOfCell = (index: number, c: number, r: number, x: number, y: number): boolean => {
    const list = edgesOf[index]!;
    let inside = refInside[index] === 1;
    if (list.length === 0) return inside;
    const cx = refX(c);
    const cy = refY(r);
    const dx = cx - x;
    const dy = cy - y;
    for (let i = 0; i < list.length; i++) {
      const k = 2 * list[i]!;
      const ax = ex[k]!;
      const ay = ey[k]!;
      const bx = ex[k + 1]!;
      const by = ey[k + 1]!;
      const sideA = dx * (ay - y) - dy * (ax - x) > 0;
      const sideB = dx * (by - y) - dy * (bx - x) > 0;
      if (sideA === sideB) continue;
      const ux = bx - ax;
      const uy = by - ay;
      if (ux * (y - ay) - uy * (x - ax) > 0 !== ux * (cy - ay) - uy * (cx - ax) > 0) inside = !inside;
    }
    return inside;
  };
  const setNormal = (k: number, inwardX: number, inwardY: number): void => {
    const ux = ex[2 * k + 1]! - ex[2 * k]!;
    const uy = ey[2 * k + 1]! - ey[2 * k]!;
    const length = Math.hypot(ux, uy);
    const sign = uy * inwardX - ux * inwardY > 0 ? -1 : 1;
    edgeNormal[0] = (sign * uy) / length;
    edgeNormal[1] = (-sign * ux) / length;
  };

  return {
    minX,
    minY,
    maxX,
    maxY,
    edgeNormal,
    isInside(x, y) {
      const c = Math.floor((x - x0) / cell);
      const r = Math.floor((y - y0) / cell);
      if (c < 0 || r < 0 || c >= columns || r >= rows) return false;
      return insideOfCell(r * columns + c, c, r, x, y);
    },
    signedDistance(x, y) {
      const c = Math.floor((x - x0) / cell);
      const r = Math.floor((y - y0) / cell);
      if (c < 0 || r < 0 || c >= columns || r >= rows) return -bandMm;
      const index = r * columns + c;
      const inside = insideOfCell(index, c, r, x, y);
      const list = edgesOf[index]!;
      let best = bandMm * bandMm;
      let bestEdge = -1;
      let towardsX = 0;
      let towardsY = 0;
      for (let i = 0; i < list.length; i++) {
        const k = 2 * list[i]!;
        const ax = ex[k]!;
        const ay = ey[k]!;
        const ux = ex[k + 1]! - ax;
        const uy = ey[k + 1]! - ay;
        const t = Math.min(1, Math.max(0, ((x - ax) * ux + (y - ay) * uy) / (ux * ux + uy * uy)));
        const nx = x - ax - t * ux;
        const ny = y - ay - t * uy;
        const d2 = nx * nx + ny * ny;
        if (d2 < best) {
          best = d2;
          bestEdge = list[i]!;
          towardsX = nx;
          towardsY = ny;
        }
      }
      if (bestEdge >= 0) setNormal(bestEdge, inside ? towardsX : -towardsX, inside ? towardsY : -towardsY);
      return inside ? Math.sqrt(best) : -Math.sqrt(best);
    },
    firstCrossing(ax, ay, bx, by) {
      // Clip to the grid first: tall parts give long segments that mostly lie outside.
      let t0 = 0;
      let t1 = 1;
      const dx = bx - ax;
      const dy = by - ay;
      const endX = x0 + columns * cell;
      const endY = y0 + rows * cell;
      if (dx === 0) {
        if (ax < x0 || ax > endX) return -1;
      } else {
        const u = (x0 - ax) / dx;
        const v = (endX - ax) / dx;
        t0 = Math.max(t0, Math.min(u, v));
        t1 = Math.min(t1, Math.max(u, v));
      }
      if (dy === 0) {
        if (ay < y0 || ay > endY) return -1;
      } else {
        const u = (y0 - ay) / dy;
        const v = (endY - ay) / dy;
        t0 = Math.max(t0, Math.min(u, v));
        t1 = Math.min(t1, Math.max(u, v));
      }
      if (t0 > t1) return -1;
      let c = Math.min(columns - 1, Math.max(0, Math.floor((ax + t0 * dx - x0) / cell)));
      let r = Math.min(rows - 1, Math.max(0, Math.floor((ay + t0 * dy - y0) / cell)));
      const stepC = dx > 0 ? 1 : -1;
      const stepR = dy > 0 ? 1 : -1;
      const perC = dx === 0 ? Infinity : Math.abs(cell / dx);
      const perR = dy === 0 ? Infinity : Math.abs(cell / dy);
      let nextC = dx === 0 ? Infinity : (x0 + (c + (dx > 0 ? 1 : 0)) * cell - ax) / dx;
      let nextR = dy === 0 ? Infinity : (y0 + (r + (dy > 0 ? 1 : 0)) * cell - ay) / dy;
      for (;;) {
        const list = edgesOf[r * columns + c]!;
        const leave = Math.min(nextC, nextR);
        if (list.length > 0) {
          let best = Infinity;
          let bestEdge = -1;
          for (let i = 0; i < list.length; i++) {
            const k = 2 * list[i]!;
            const px = ex[k]!;
            const py = ey[k]!;
            const ux = ex[k + 1]! - px;
            const uy = ey[k + 1]! - py;
            const det = dx * uy - dy * ux;
            if (det === 0) continue;
            const wx = px - ax;
            const wy = py - ay;
            const t = (wx * uy - wy * ux) / det;
            if (t < 0 || t > 1 || t >= best) continue;
            const s = (wx * dy - wy * dx) / det;
            if (s < 0 || s > 1) continue;
            best = t;
            bestEdge = list[i]!;
          }
          if (bestEdge >= 0 && best <= leave + 1e-9) {
            setNormal(bestEdge, dx, dy);
            return best;
          }
        }
        if (leave >= t1) return -1;
        if (nextC < nextR) {
          c += stepC;
          nextC += perC;
          if (c < 0 || c >= columns) return -1;
        } else {
          r += stepR;
          nextR += perR;
          if (r < 0 || r >= rows) return -1;
        }
      }
    },
  };
}
