import { createRequire } from "node:module";
import type * as Aruco from "js-aruco2";
import { markerCells } from "./sheet.js";

const require = createRequire(import.meta.url);

/** As CommonJS, which it is: imported, Node first searches all of it for names, which takes three times as long. */
function readCodes(): readonly string[] {
  const { AR } = require("js-aruco2") as (typeof Aruco)["default"];
  require("js-aruco2/src/dictionaries/apriltag_36h11.js");
  return new AR.Dictionary("APRILTAG_36h11").codeList;
}

let codes: readonly string[] | undefined;

/**
 * The cells of a marker as printed: 8 rows from the top, each from the left, black border included.
 * (OpenCV's own AprilTag 36h11 holds the same codes turned by half a turn.)
 *
 * @param id index in the dictionary AprilTag 36h11, 0 to 586.
 * @returns true = black.
 * @throws RangeError if the dictionary has no such id.
 */
export function markerBits(id: number): boolean[][] {
  codes ??= readCodes();
  const code = codes[id];
  if (code === undefined) {
    throw new RangeError(`marker id: expected a whole number from 0 to ${codes.length - 1}, received ${id}`);
  }
  const inside = markerCells - 2;
  return Array.from({ length: markerCells }, (_, row) =>
    Array.from({ length: markerCells }, (_, column) => {
      const border = row === 0 || column === 0 || row === markerCells - 1 || column === markerCells - 1;
      return border || code[(row - 1) * inside + column - 1] !== "1";
    }),
  );
}
