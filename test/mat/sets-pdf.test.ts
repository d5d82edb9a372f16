import { describe, expect, test } from "vitest";
import { describeSheet, drawSetsPdf, papers, setSteps } from "../../src/mat/index.js";
import { showPdf } from "./pdf-pixels.js";

describe.each(papers)("the page about sets on %s", (paper) => {
  test("is one page that its words do not leave, and the same on every call", async () => {
    const bytes = await drawSetsPdf(paper);
    expect(Buffer.from(await drawSetsPdf(paper)).equals(Buffer.from(bytes))).toBe(true);
    const { widthMm, heightMm } = describeSheet(paper);
    const page = await showPdf(bytes, widthMm, heightMm, 4);
    expect(page.pages).toBe(1);
    // Printers leave 8 mm or so blank along the edges.
    const [x, y] = [widthMm / 2, heightMm / 2];
    for (const [from, to] of [
      [
        [-x, -y],
        [x, -y + 8],
      ],
      [
        [-x, y - 8],
        [x, y],
      ],
      [
        [-x, -y],
        [-x + 8, y],
      ],
      [
        [x - 8, -y],
        [x, y],
      ],
    ] as const)
      expect(page.range(from, to).darkest).toBe(255);
    const said = page.text.replaceAll(/\s+/g, " ");
    expect(said.indexOf("Let it down fully")).toBeGreaterThan(0);
    expect(said.indexOf("Let it down fully")).toBeLessThan(said.indexOf("Pierce the mat"));
  });
});

test("tells a turn set and a play set in five steps each, and what to call then", () => {
  expect(setSteps.map(({ steps }) => steps.length)).toEqual([5, 5]);
  expect(setSteps[0]!.after).toContain("--set turn");
  expect(setSteps[1]!.after).toContain("--set play");
});
