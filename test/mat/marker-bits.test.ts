import aruco from "js-aruco2";
import "js-aruco2/src/dictionaries/apriltag_36h11.js";
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { describeSheet, markerBits, paperOfMarker, papers, tags } from "../../src/mat/index.js";

const matIds = papers.flatMap((paper) => describeSheet(paper).markers.map((marker) => marker.id));
const allIds = [...matIds, ...tags.map((tag) => tag.id)];

const insideBorder = (bits: boolean[][]): (0 | 1)[][] =>
  bits.slice(1, -1).map((row) => row.slice(1, -1).map((black) => (black ? 0 : 1)));
/** A quarter turn clockwise. */
const turned = <T>(rows: T[][]): T[][] =>
  rows[0]!.map((_, column) => rows.map((row) => row[column]!).reverse());

describe("markerBits", () => {
  test("every mat marker and tag is found again under its own id", () => {
    const dictionary = new aruco.AR.Dictionary("APRILTAG_36h11");
    for (const id of allIds)
      expect(dictionary.find(insideBorder(markerBits(id)))).toEqual({ id, distance: 0 });
    expect(allIds.length).toBeGreaterThan(150);
  });

  // Source: OpenCV 4.6.0, see test/reference/opencv-april-tag-36h11/SOURCE.md
  test("the cells are those that OpenCV draws, turned by half a turn", () => {
    const { codes } = JSON.parse(
      readFileSync(new URL("../reference/opencv-april-tag-36h11/codes.json", import.meta.url), "utf8"),
    ) as { codes: Record<string, string[]> };
    expect(Object.keys(codes)).toHaveLength(16);
    for (const [id, rows] of Object.entries(codes)) {
      const drawn = rows.map((row) => [...row].map((cell) => cell === "#"));
      expect(markerBits(Number(id))).toEqual(turned(turned(drawn)));
    }
  });

  test("a border of black cells surrounds the code", () => {
    for (const id of allIds) {
      const bits = markerBits(id);
      expect(bits).toHaveLength(8);
      const edge = [...bits[0]!, ...bits[7]!, ...bits.map((row) => row[0]), ...bits.map((row) => row[7])];
      expect(edge.every((black) => black === true)).toBe(true);
    }
  });

  // 36h11: any two codes differ in 11 cells or more, in whatever way they are turned.
  test("no marker, turned by any quarter, can be taken for another or for itself", () => {
    let least = 36;
    const flat = allIds.map((id) => insideBorder(markerBits(id)));
    flat.forEach((code, i) => {
      let other = code;
      for (let quarter = 0; quarter < 4; quarter++) {
        const cells = other.flat();
        flat.slice(quarter === 0 ? i + 1 : i).forEach((second) => {
          least = Math.min(least, second.flat().filter((cell, k) => cell !== cells[k]).length);
        });
        other = turned(other);
      }
    });
    expect(least).toBeGreaterThanOrEqual(11);
  });

  test.each([-1, 587, 1.5, NaN])("refuses the id %s", (id) => {
    expect(() => markerBits(id)).toThrow(RangeError);
  });
});

describe("ids", () => {
  test("every id stands once on all sheets and cards together", () => {
    expect(new Set(allIds).size).toBe(allIds.length);
  });

  test("a mat marker tells its paper, a tag tells none", () => {
    for (const paper of papers) {
      for (const marker of describeSheet(paper).markers) expect(paperOfMarker(marker.id)).toBe(paper);
    }
    for (const tag of tags) expect(paperOfMarker(tag.id)).toBeUndefined();
  });
});
