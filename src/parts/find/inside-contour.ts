/** Of the points of a contour more than half lie in the other. */
export function isMostlyIn(contour: Int32Array, hull: Int32Array): boolean {
  let inside = 0;
  for (let i = 0; i < contour.length; i += 2) if (isInside(hull, contour[i]!, contour[i + 1]!)) inside++;
  return inside > contour.length / 4;
}

/** Even-odd rule; points of the outline itself lie inside. */
export function isInside(contour: Int32Array, x: number, y: number): boolean {
  let inside = false;
  const n = contour.length / 2;
  for (let i = 0, j = n - 1; i < n; j = i++) {
    const [xi, yi, xj, yj] = [contour[2 * i]!, contour[2 * i + 1]!, contour[2 * j]!, contour[2 * j + 1]!];
    if (xi === x && yi === y) return true;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}
