import aruco from "js-aruco2";
import { beforeAll, describe, expect, test } from "vitest";
import type { TagCard } from "../../src/mat/index.js";
import {
  describeSheet,
  drawTagsPdf,
  layTagCards,
  papers,
  tagMarkerSizeMm,
  tagQuietZoneMm,
  tags,
} from "../../src/mat/index.js";
import type { PdfPixels } from "./pdf-pixels.js";
import { showPdf } from "./pdf-pixels.js";
import { markerEdgesMm, readCells } from "./printed-edges.js";

describe.each(papers)("the tags on %s", (paper) => {
  const { widthMm, heightMm } = describeSheet(paper);
  const cards: readonly TagCard[] = layTagCards(paper);
  let bytes: Uint8Array;
  let page: PdfPixels;
  beforeAll(async () => {
    bytes = await drawTagsPdf(paper);
    page = await showPdf(bytes, widthMm, heightMm, 20);
  });

  test("has one card for every tag", () => {
    expect(page.pages).toBe(1);
    expect(cards.map(({ tag }) => tag.id).sort((a, b) => a - b)).toEqual(
      tags.map(({ id }) => id).sort((a, b) => a - b),
    );
  });

  test("prints every marker 10 mm wide where the card says", () => {
    expect(tagMarkerSizeMm).toBe(10);
    for (const { tag, markerCentreMm } of cards) {
      const [x, y] = markerCentreMm;
      const edges = markerEdgesMm(page, markerCentreMm, 10);
      const off = [edges.left - (x - 5), edges.right - (x + 5), edges.bottom - (y - 5), edges.top - (y + 5)];
      expect(Math.max(...off.map(Math.abs)), tag.label).toBeLessThan(0.05);
    }
  });

  test("shows every tag's id to the dictionary", () => {
    const dictionary = new aruco.AR.Dictionary("APRILTAG_36h11");
    const seen = cards.map(({ markerCentreMm }) => dictionary.find(readCells(page, markerCentreMm, 10)));
    expect(seen).toEqual(cards.map(({ tag }) => ({ id: tag.id, distance: 0 })));
  });

  test("leaves white paper round every marker, and words within their card", () => {
    expect(tagQuietZoneMm).toBeGreaterThanOrEqual(1.5);
    for (const { tag, markerCentreMm, fromMm, toMm } of cards) {
      const [x, y] = markerCentreMm;
      for (const [from, to] of [
        [
          [x - 6.5, y - 6.5],
          [x - 5.1, y + 6.5],
        ],
        [
          [x + 5.1, y - 6.5],
          [x + 6.5, y + 6.5],
        ],
        [
          [x - 6.5, y - 6.5],
          [x + 6.5, y - 5.1],
        ],
        [
          [x - 6.5, y + 5.1],
          [x + 6.5, y + 6.5],
        ],
        // A strip of 0.4 mm inside the cut lines, themselves 0.15 mm wide.
        [
          [fromMm[0] + 0.1, fromMm[1] + 0.1],
          [toMm[0] - 0.1, fromMm[1] + 0.5],
        ],
        [
          [fromMm[0] + 0.1, toMm[1] - 0.5],
          [toMm[0] - 0.1, toMm[1] - 0.1],
        ],
        [
          [fromMm[0] + 0.1, fromMm[1] + 0.1],
          [fromMm[0] + 0.5, toMm[1] - 0.1],
        ],
        [
          [toMm[0] - 0.5, fromMm[1] + 0.1],
          [toMm[0] - 0.1, toMm[1] - 0.1],
        ],
      ] as const) {
        expect(page.range(from, to).darkest, tag.label).toBe(255);
      }
    }
  });

  test("draws a light line along every side of every card", () => {
    for (const { fromMm, toMm } of cards) {
      const middle = [(fromMm[0] + toMm[0]) / 2, (fromMm[1] + toMm[1]) / 2] as const;
      for (const [from, to] of [
        [
          [middle[0] - 1, fromMm[1] - 0.2],
          [middle[0] + 1, fromMm[1] + 0.2],
        ],
        [
          [middle[0] - 1, toMm[1] - 0.2],
          [middle[0] + 1, toMm[1] + 0.2],
        ],
        [
          [fromMm[0] - 0.2, middle[1] - 1],
          [fromMm[0] + 0.2, middle[1] + 1],
        ],
        [
          [toMm[0] - 0.2, middle[1] - 1],
          [toMm[0] + 0.2, middle[1] + 1],
        ],
      ] as const) {
        const { darkest } = page.range(from, to);
        expect(darkest).toBeGreaterThan(140);
        expect(darkest).toBeLessThan(240);
      }
    }
  });

  test("leaves at least 5 mm at every edge of the paper white", () => {
    const [w, h] = [widthMm / 2, heightMm / 2];
    expect(page.range([-w, -h], [-w + 5, h]).darkest).toBe(255);
    expect(page.range([w - 5, -h], [w, h]).darkest).toBe(255);
    expect(page.range([-w, -h], [w, -h + 5]).darkest).toBe(255);
    expect(page.range([-w, h - 5], [w, h]).darkest).toBe(255);
  });

  test("names every part in plain words and says how to photograph, with the caution first", () => {
    const text = page.text.replace(/\s+/g, " ");
    for (const { label, words } of tags) {
      expect(text).toContain(label);
      expect(text).toContain(words);
    }
    const inOrder = [
      "Print at 100 %",
      "How to photograph",
      "let the mainspring down",
      "let-down key",
      "eye protection",
      "licensed professional",
      "Measure both check bars",
      "40 cm or more away",
    ].map((words) => text.indexOf(words));
    expect(inOrder.every((at) => at >= 0)).toBe(true);
    expect([...inOrder].sort((a, b) => a - b)).toEqual(inOrder);
  });

  test("is the same file on every call", async () => {
    expect(Buffer.from(await drawTagsPdf(paper)).equals(Buffer.from(bytes))).toBe(true);
  });
});
