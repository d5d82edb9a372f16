import { spawn } from "node:child_process";
import { once } from "node:events";

/** Middle value; of an even number the mean of the two in the middle. @throws RangeError if there is none. */
export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  const upper = sorted[middle];
  if (upper === undefined) throw new RangeError("median of no values");
  return sorted.length % 2 === 1 ? upper : (sorted[middle - 1]! + upper) / 2;
}

/** What a job took. Processor time adds up all threads, and hardly minds what else the machine does. */
export interface Took {
  readonly wallMs: number;
  readonly processorMs: number;
}

export async function timed(job: () => unknown): Promise<Took> {
  const startedCpu = process.cpuUsage();
  const started = performance.now();
  await job();
  const wallMs = performance.now() - started;
  const { user, system } = process.cpuUsage(startedCpu);
  return { wallMs, processorMs: (user + system) / 1000 };
}

export const medianOf = (runs: readonly Took[]): Took => ({
  wallMs: median(runs.map((run) => run.wallMs)),
  processorMs: median(runs.map((run) => run.processorMs)),
});

/** Medians of several jobs, taken in turn, so that a machine that slows down slows all of them alike. */
export async function mediansOf<Name extends string>(
  jobs: Readonly<Record<Name, () => unknown>>,
  rounds: number,
): Promise<Record<Name, Took>> {
  const names = Object.keys(jobs) as Name[];
  const runs = new Map<Name, Took[]>(names.map((name) => [name, []]));
  for (let round = 0; round < rounds; round++)
    for (const name of names) runs.get(name)!.push(await timed(jobs[name]));
  return Object.fromEntries(names.map((name) => [name, medianOf(runs.get(name)!)])) as Record<Name, Took>;
}

export interface ChildRun extends Took {
  /** Highest resident memory, MB (1e6 bytes). */
  readonly peakMb: number;
}

/** Tells memory and processor time on a fourth stream as the program ends. */
const reporter =
  "data:text/javascript," +
  encodeURIComponent(
    'import { writeSync } from "node:fs"; import { isMainThread } from "node:worker_threads";' +
      'if (isMainThread) process.on("exit", () => {' +
      "const { maxRSS, userCPUTime, systemCPUTime } = process.resourceUsage();" +
      "writeSync(3, JSON.stringify([maxRSS, userCPUTime + systemCPUTime])); });",
  );

/**
 * Runs node once, its output thrown away.
 *
 * @throws Error with the program's last words if its exit code is not 0.
 */
export async function runNode(args: readonly string[]): Promise<ChildRun> {
  const started = performance.now();
  const child = spawn(process.execPath, ["--import", reporter, ...args], {
    stdio: ["ignore", "ignore", "pipe", "pipe"],
  });
  let words = "";
  let usage = "";
  child.stderr!.on("data", (data: Buffer) => (words = (words + data.toString()).slice(-2000)));
  child.stdio[3]!.on("data", (data: Buffer) => (usage += data.toString()));
  const [code] = (await once(child, "close")) as [number | null];
  const wallMs = performance.now() - started;
  if (code !== 0) throw new Error(`node ${args.join(" ")}: exit code ${code}\n${words}`);
  const [peakKib, processorUs] = JSON.parse(usage) as [number, number];
  return { wallMs, processorMs: processorUs / 1000, peakMb: (peakKib * 1024) / 1e6 };
}
