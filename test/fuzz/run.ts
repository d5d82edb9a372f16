import { parseArgs } from "node:util";
import { markdownTable } from "../accuracy/markdown-table.js";
import { fuzz, fuzzedReaders } from "./fuzz-readers.js";

/** No reader may take longer over one input, however spoilt. */
const hangMs = 5000;

const { values } = parseArgs({
  options: {
    cases: { type: "string", default: "1000" },
    seed: { type: "string", default: "1" },
    only: { type: "string" },
  },
});
const [cases, seed] = [Number(values.cases), Number(values.seed)];
if (!Number.isInteger(cases) || !Number.isInteger(seed) || cases < 1) {
  process.stderr.write("npm run fuzz -- [--cases N] [--seed N] [--only READER]\n");
  process.exit(2);
}
const tallies = [];
for (const reader of await fuzzedReaders())
  if (values.only === undefined || values.only === reader.name) {
    const tally = await fuzz(reader, seed, cases);
    tallies.push(tally);
    for (const fault of tally.faults.slice(0, 5))
      process.stderr.write(`${reader.name}, seed ${fault.seed}: ${fault.text}\n`);
  }
process.stdout.write(
  `${markdownTable(
    ["reader", "spoilt inputs", "read", "refused", "faults", "slowest, ms"],
    tallies.map((t) => [
      t.name,
      `${t.cases}`,
      `${t.read}`,
      `${t.refused}`,
      `${t.faults.length}`,
      t.slowestMs.toFixed(0),
    ]),
  )}\n\nPeak memory ${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MB.\n`,
);
if (tallies.some((t) => t.faults.length > 0 || t.slowestMs > hangMs)) process.exitCode = 1;
