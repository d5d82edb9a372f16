import { expect, test } from "vitest";
import { benchTable } from "./bench-table.js";
import type { BenchResults } from "./bench-table.js";

const took = (wallMs: number, peakMb = 100) => ({ wallMs, processorMs: 2 * wallMs, peakMb });
const results: BenchResults = {
  decode: took(100),
  decodeOneThread: took(150),
  measure: took(450),
  read: took(100),
  view: took(100),
  parts: took(100),
  cold: took(2039, 599),
  empty: took(40),
  few: { count: 2, twoWorkers: took(1000, 400) },
  folder: { count: 8, oneWorker: took(8000), twoWorkers: took(4400, 501) },
};

const rowOf = (what: string): string[] => {
  const row = benchTable(results)
    .split("\n")
    .find((line) => line.includes(what));
  return row!.split("|").map((cell) => cell.trim());
};

test("judges every bar by the clock", () => {
  expect(rowOf("over decode, sharp as it comes").slice(2, 6)).toEqual([
    "4.50",
    "4.50",
    "at most 3",
    "not met",
  ]);
  expect(rowOf("over decode, sharp on one thread").slice(2, 6)).toEqual(["3.00", "3.00", "at most 3", "met"]);
  expect(rowOf("cold command").slice(2, 6)).toEqual(["1999 ms", "3998 ms", "under 2000 ms", "met"]);
  expect(rowOf("... peak memory  ").slice(2, 6)).toEqual(["599 MB", "", "under 600 MB", "met"]);
  expect(rowOf("rate over").slice(2, 6)).toEqual(["1.82", "", "at least 1.8", "met"]);
  expect(rowOf("memory over that for 2").slice(2, 6)).toEqual(["1.25 (501 MB)", "", "flat", "not met"]);
});
