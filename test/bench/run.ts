import { access, copyFile, mkdir } from "node:fs/promises";
import { availableParallelism, cpus, loadavg } from "node:os";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import type * as Library from "../../src/index.js";
import type * as Steps from "../../src/pipeline/measuring-steps.js";
import { writeBetweenMarks } from "../accuracy/insert-between-marks.js";
import { pictureSizes } from "../scenes/index.js";
import type { PictureSize } from "../scenes/index.js";
import { benchTable } from "./bench-table.js";
import type { BenchResults } from "./bench-table.js";
import { mediansOf, medianOf, runNode } from "./measure-speed.js";
import { trayPhoto, wheelCount } from "./tray-photo.js";
import type { ChildRun } from "./measure-speed.js";

const usage = `Time the built program on a rendered tray of eight wheels, everything in one run.

  npm run build && npm run bench [-- OPTIONS]

--size SIZE   one of ${Object.keys(pictureSizes).join(", ")} (default 12mp, which the bars are about)
--rounds N    (default 5)
--copies N    photographs in the folder (default 8)
--write       put the table into DEVELOPERS.md
`;

const projectFolder = fileURLToPath(new URL("../..", import.meta.url));
const program = join(projectFolder, "dist", "cli.js");

async function main(): Promise<void> {
  const { values } = parseArgs({
    options: {
      size: { type: "string", default: "12mp" },
      rounds: { type: "string", default: "5" },
      copies: { type: "string", default: "8" },
      write: { type: "boolean", default: false },
    },
  });
  const { size } = values;
  const [rounds, copies] = [Number(values.rounds), Number(values.copies)];
  if (
    !isSize(size) ||
    !(Number.isInteger(rounds) && rounds >= 1) ||
    !(Number.isInteger(copies) && copies >= 2)
  ) {
    process.stderr.write(usage);
    process.exitCode = 2;
    return;
  }
  if (
    !(await access(program).then(
      () => true,
      () => false,
    ))
  )
    throw new Error(`${program}: not there; the built program is timed: call "npm run build"`);
  const photo = await trayPhoto(projectFolder, size);
  const results = await measureAll(photo, rounds, copies);
  const [processor] = cpus();
  const text = `A rendered photograph of ${wheelCount} wheels on the mat, ${size}; medians of ${rounds}. Node ${process.versions.node},
${availableParallelism()} cores (${processor?.model.trim() ?? "unknown"}), load average ${loadavg()[0]!.toFixed(1)} at the end: every ratio is of this one run, but
cores that others use spoil the rate of two workers.

${benchTable(results)}
`;
  process.stdout.write(text);
  if (values.write) await writeBetweenMarks(join(projectFolder, "DEVELOPERS.md"), "bench", text);
}

async function measureAll(photo: string, rounds: number, copies: number): Promise<BenchResults> {
  const warm = await warmTimes(photo, rounds);
  talk("cold command");
  const cold: ChildRun[] = [];
  const empty: ChildRun[] = [];
  for (let round = 0; round < rounds; round++) {
    empty.push(await runNode(["-e", "0"]));
    cold.push(await runNode([program, "measure", photo, "--json"]));
  }
  const folder = await copiesOf(photo, copies);
  const few = folder.slice(0, 2);
  const withWorkers = (photos: readonly string[], workers: number): Promise<ChildRun> => {
    talk(`${photos.length} photographs, workers: ${workers}`);
    return runNode([program, "measure", ...photos, "--json", "--workers", `${workers}`]);
  };
  const fewOnTwo = await withWorkers(few, 2);
  const onOne = await withWorkers(folder, 1);
  const onTwo = await withWorkers(folder, 2);
  return {
    ...warm,
    cold: { ...medianOf(cold), peakMb: Math.max(...cold.map(({ peakMb }) => peakMb)) },
    empty: { ...medianOf(empty), peakMb: Math.max(...empty.map(({ peakMb }) => peakMb)) },
    few: { count: few.length, twoWorkers: fewOnTwo },
    folder: { count: folder.length, oneWorker: onOne, twoWorkers: onTwo },
  };
}

type WarmTimes = Pick<BenchResults, "decode" | "decodeOneThread" | "measure" | "read" | "view" | "parts">;

async function warmTimes(path: string, rounds: number): Promise<WarmTimes> {
  const { default: sharp } = await import("sharp");
  const { measurePhoto } = await built<typeof Library>("index.js");
  const { readPhoto, solveView, findAndMeasureParts } = await built<typeof Steps>(
    "program/measuring-steps.js",
  );
  const decodeOn = (threads: number) => async () => {
    sharp.cache(false);
    sharp.concurrency(threads);
    await sharp(path).raw().toBuffer();
  };
  const record = await measurePhoto(path);
  if (record.parts.length !== wheelCount)
    talk(`note: ${record.parts.length} of ${wheelCount} wheels were found, which may take less time`);
  const read = await readPhoto(path);
  if (!read.ok) throw new Error(`${path}: ${read.problem.text}`);
  const view = await solveView(read.value);
  talk(`${rounds} rounds, warm`);
  return mediansOf(
    {
      // 0: as many threads as sharp takes by itself.
      decode: decodeOn(0),
      decodeOneThread: decodeOn(1),
      measure: () => measurePhoto(path),
      read: () => readPhoto(path),
      view: () => solveView(read.value),
      parts: () => findAndMeasureParts(read.value, view),
    },
    rounds,
  );
}

/** A file of the program as it is built and shipped. */
const built = <Module>(file: string): Promise<Module> =>
  import(pathToFileURL(join(projectFolder, "dist", file)).href) as Promise<Module>;

async function copiesOf(photo: string, count: number): Promise<string[]> {
  const folder = join(projectFolder, "out", "bench");
  await mkdir(folder, { recursive: true });
  const paths = Array.from({ length: count }, (_, i) => join(folder, `copy-${i + 1}.jpg`));
  for (const path of paths) await copyFile(photo, path);
  return paths;
}

const talk = (words: string): void => void process.stderr.write(`${words}\n`);
const isSize = (size: string): size is PictureSize => Object.hasOwn(pictureSizes, size);

await main();
