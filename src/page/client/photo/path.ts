import type { Px } from "./stage.js";

/** Lines from point to point, to a tenth of a pixel; "" for none. */
export const linesPath = (points: readonly Px[]): string =>
  points.length === 0 ? "" : `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}`;

export const closedPath = (points: readonly Px[]): string =>
  points.length === 0 ? "" : `${linesPath(points)}Z`;
