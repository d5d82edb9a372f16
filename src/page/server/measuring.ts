import {
  defaultWorkerCount,
  startMeasureWorker,
  type JobWorker,
  type MeasurePhotoSettings,
} from "../../pipeline/index.js";
import type { PhotoRecord } from "../../record/index.js";
import type { SetPhoto } from "../../survey/index.js";

export interface MeasureJob {
  readonly name: string;
  readonly path: string;
  readonly settings: MeasurePhotoSettings;
  /** For its record; once more at the heights that sets found; or once more for what its set is evaluated by. */
  readonly purpose: "record" | "heights" | "set";
}

export interface MeasuringOptions {
  onStart(job: MeasureJob): void;
  onDone(job: MeasureJob, record: PhotoRecord): void;
  /** What a photograph gives for the set that it belongs to; comes before `onDone`. */
  onSetPhoto?(job: MeasureJob, marks: SetPhoto): void;
  /** The worker died over this photograph. */
  onDeath(job: MeasureJob, error: unknown): void;
  readonly workers?: number;
}

interface Bench {
  readonly key: string;
  readonly worker: JobWorker<string, PhotoRecord>;
  job?: MeasureJob | undefined;
  cancelled?: boolean;
}

/** A worker holds a few hundred megabytes: without work it goes after this long. */
const idleMs = 20_000;

/**
 * Photographs waiting to be measured, and the threads that do it: each is measured by one thread, so that the page
 * stays at hand meanwhile. A job for a photograph takes the place of an earlier one for the same.
 */
export class Measuring {
  private waiting: MeasureJob[] = [];
  private benches: Bench[] = [];
  private idle: NodeJS.Timeout | undefined;
  private closed = false;
  private readonly workers: number;

  constructor(private readonly options: MeasuringOptions) {
    this.workers = Math.max(1, options.workers ?? defaultWorkerCount());
  }

  /** @param first before everything that waits: somebody looks at this one. */
  add(job: MeasureJob, first = false): void {
    this.cancel(job.name);
    if (first) this.waiting.unshift(job);
    else this.waiting.push(job);
    this.next();
  }

  /** Waits for its record; so does `isRunning` mean the measuring for it. */
  isWaiting(name: string): boolean {
    return this.waiting.some((job) => job.name === name && job.purpose !== "set");
  }

  isRunning(name: string): boolean {
    return this.benches.some(
      ({ job, cancelled }) => job?.name === name && job.purpose !== "set" && !cancelled,
    );
  }

  /** For whatever purpose. */
  has(name: string): boolean {
    return [...this.waiting, ...this.benches.map(({ job }) => job)].some((job) => job?.name === name);
  }

  /** Takes photographs out, also those being measured; without a name, all of them. Returns their jobs. */
  cancel(name?: string): MeasureJob[] {
    const matches = (job: MeasureJob | undefined): boolean =>
      job !== undefined && (name === undefined || job.name === name);
    const jobs = this.waiting.filter(matches);
    this.waiting = this.waiting.filter((job) => !matches(job));
    for (const bench of this.benches) {
      if (!matches(bench.job) || bench.cancelled) continue;
      jobs.push(bench.job!);
      bench.cancelled = true;
      // A thread cannot be interrupted in its work, only ended.
      void bench.worker.stop();
    }
    this.benches = this.benches.filter(({ cancelled }) => !cancelled);
    return jobs;
  }

  async close(): Promise<void> {
    this.closed = true;
    this.waiting = [];
    clearTimeout(this.idle);
    const benches = this.benches;
    this.benches = [];
    for (const bench of benches) bench.cancelled = true;
    await Promise.all(benches.map(({ worker }) => worker.stop()));
  }

  private next(): void {
    if (this.closed) return;
    clearTimeout(this.idle);
    while (this.waiting.length > 0) {
      const job = this.waiting[0]!;
      const key = JSON.stringify(job.settings);
      const bench = this.freeBench(key);
      if (!bench) return;
      this.waiting.shift();
      void this.run(bench, job);
    }
    this.idle = setTimeout(() => this.sendHome(), idleMs);
    this.idle.unref();
  }

  /** A thread keeps the settings it was started with. */
  private freeBench(key: string): Bench | undefined {
    const free = this.benches.filter(({ job }) => job === undefined);
    const fitting = free.find((bench) => bench.key === key);
    if (fitting) return fitting;
    if (this.benches.length >= this.workers) {
      const other = free[0];
      if (!other) return undefined;
      this.benches = this.benches.filter((bench) => bench !== other);
      void other.worker.stop();
    }
    const worker = startMeasureWorker(JSON.parse(key) as MeasurePhotoSettings, (marks) => {
      if (made.job && !made.cancelled) this.options.onSetPhoto?.(made.job, marks);
    });
    const made: Bench = { key, worker };
    this.benches.push(made);
    return made;
  }

  private async run(bench: Bench, job: MeasureJob): Promise<void> {
    bench.job = job;
    this.options.onStart(job);
    try {
      const record = await bench.worker.measure(job.path);
      bench.job = undefined;
      if (!bench.cancelled) this.options.onDone(job, record);
    } catch (error) {
      this.benches = this.benches.filter((each) => each !== bench);
      void bench.worker.stop();
      if (!bench.cancelled && !this.closed) this.options.onDeath(job, error);
    }
    this.next();
  }

  private sendHome(): void {
    const free = this.benches.filter(({ job }) => job === undefined);
    this.benches = this.benches.filter(({ job }) => job !== undefined);
    for (const { worker } of free) void worker.stop();
  }
}
