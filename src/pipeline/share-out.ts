/** Does one job at a time. */
export interface JobWorker<J, R> {
  /** @throws Error if the worker dies over the job; it is not used again. */
  measure(job: J): Promise<R>;
  stop(): Promise<void>;
}

export interface ShareOutOptions<J, R> {
  readonly workerCount: number;
  start(): JobWorker<J, R>;
  /** What stands for the result of a job over which a worker died. */
  resultOfDeath(job: J, error: unknown): R;
  onDone?(result: R, index: number): void;
}

/**
 * Shares jobs out among workers: each takes the next one when it is free, so that no more are in flight than there
 * are workers. A worker that dies costs one job, and another takes its place.
 *
 * @returns one result for each job, in the order of the jobs.
 */
export async function shareOut<J, R>(jobs: readonly J[], options: ShareOutOptions<J, R>): Promise<R[]> {
  const results = new Array<R>(jobs.length);
  let next = 0;
  const serve = async (): Promise<void> => {
    let worker: JobWorker<J, R> | undefined;
    try {
      while (next < jobs.length) {
        const index = next++;
        const job = jobs[index]!;
        worker ??= options.start();
        let result: R;
        try {
          result = await worker.measure(job);
        } catch (error) {
          await worker.stop();
          worker = undefined;
          result = options.resultOfDeath(job, error);
        }
        results[index] = result;
        options.onDone?.(result, index);
      }
    } finally {
      await worker?.stop();
    }
  };
  await Promise.all(Array.from({ length: Math.min(options.workerCount, jobs.length) }, serve));
  return results;
}
