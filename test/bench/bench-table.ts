import { markdownTable } from "../accuracy/markdown-table.js";
import type { ChildRun, Took } from "./measure-speed.js";

/** What one run has measured. */
export interface BenchResults {
  readonly decode: Took;
  readonly decodeOneThread: Took;
  readonly measure: Took;
  readonly read: Took;
  readonly view: Took;
  readonly parts: Took;
  readonly cold: ChildRun;
  /** `node -e 0` */
  readonly empty: ChildRun;
  readonly few: { readonly count: number; readonly twoWorkers: ChildRun };
  readonly folder: { readonly count: number; readonly oneWorker: ChildRun; readonly twoWorkers: ChildRun };
}

/**
 * Bars: at most three decodes; under 2 s over `node -e 0`; under 600 MB; 1.8 times one worker's rate; flat memory.
 * Verdicts go by the clock; processor time stands beside it for machines that do other things as well.
 */
export function benchTable(results: BenchResults): string {
  const { decode, decodeOneThread, measure, read, view, parts, cold, empty, few, folder } = results;
  const rate = folder.oneWorker.wallMs / folder.twoWorkers.wallMs;
  const growth = folder.twoWorkers.peakMb / few.twoWorkers.peakMb;
  return markdownTable(
    ["what", "by the clock", "processor time", "bar", "verdict"],
    [
      timeRow("decode to raw RGB, sharp as it comes", decode),
      timeRow("decode to raw RGB, sharp on one thread", decodeOneThread),
      timeRow("photograph to record, warm", measure),
      overDecodeRow("... over decode, sharp as it comes", measure, decode),
      overDecodeRow("... over decode, sharp on one thread", measure, decodeOneThread),
      timeRow("part of it: read and decode", read),
      timeRow("part of it: camera over the mat", view),
      timeRow("part of it: find and measure parts", parts),
      [
        ...timeRow("cold command over `node -e 0`", {
          wallMs: cold.wallMs - empty.wallMs,
          processorMs: cold.processorMs - empty.processorMs,
        }).slice(0, 3),
        "under 2000 ms",
        verdict(cold.wallMs - empty.wallMs < 2000),
      ],
      ["... peak memory", `${cold.peakMb.toFixed(0)} MB`, "", "under 600 MB", verdict(cold.peakMb < 600)],
      [
        `folder of ${folder.count}: two workers' rate over one's`,
        rate.toFixed(2),
        "",
        "at least 1.8",
        verdict(rate >= 1.8),
      ],
      [
        `... peak memory over that for ${few.count}`,
        `${growth.toFixed(2)} (${folder.twoWorkers.peakMb.toFixed(0)} MB)`,
        "",
        "flat",
        // A quarter more is what garbage collection does from run to run.
        verdict(growth <= 1.25),
      ],
    ],
  );
}

const verdict = (isMet: boolean): string => (isMet ? "met" : "not met");

const timeRow = (what: string, { wallMs, processorMs }: Took): string[] => [
  what,
  `${wallMs.toFixed(0)} ms`,
  `${processorMs.toFixed(0)} ms`,
  "",
  "",
];

function overDecodeRow(what: string, measure: Took, decode: Took): string[] {
  const ratio = measure.wallMs / decode.wallMs;
  const processorRatio = measure.processorMs / decode.processorMs;
  return [what, ratio.toFixed(2), processorRatio.toFixed(2), "at most 3", verdict(ratio <= 3)];
}
