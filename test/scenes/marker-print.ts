import aruco from "js-aruco2";
import "js-aruco2/src/dictionaries/apriltag_36h11.js";

/** Black cells of AprilTag 36h11 markers, 8 x 8 with the border, row by row from the top; read here, not from src. */
export function blackCells(id: number): Uint8Array {
  dictionary ??= new aruco.AR.Dictionary("APRILTAG_36h11").codeList;
  const code = dictionary[id];
  if (code === undefined) throw new RangeError(`no marker ${id} in the dictionary`);
  const cells = new Uint8Array(64).fill(1);
  for (let row = 0; row < 6; row++)
    for (let column = 0; column < 6; column++) {
      if (code[row * 6 + column] === "1") cells[(row + 1) * 8 + column + 1] = 0;
    }
  return cells;
}

let dictionary: readonly string[] | undefined;
