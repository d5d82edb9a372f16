import { expect, test } from "vitest";
import { shareOut } from "../../src/pipeline/share-out.js";
import type { JobWorker } from "../../src/pipeline/share-out.js";

const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

/** Workers that answer with the job's square; they die over the jobs named. */
function squaring(diesOver: readonly number[] = []) {
  const seen = { started: 0, stopped: 0, inFlight: 0, mostInFlight: 0 };
  const start = (): JobWorker<number, string> => {
    seen.started++;
    let dead = false;
    return {
      measure: async (job) => {
        if (dead) throw new Error("a dead worker was used again");
        seen.mostInFlight = Math.max(seen.mostInFlight, ++seen.inFlight);
        // Later jobs are quicker, so that the order of finishing is not the order of jobs.
        await pause(30 - job);
        seen.inFlight--;
        if (diesOver.includes(job)) {
          dead = true;
          throw new Error("out of memory");
        }
        return String(job * job);
      },
      stop: () => {
        seen.stopped++;
        return Promise.resolve();
      },
    };
  };
  return { seen, start };
}

const resultOfDeath = (job: number, error: unknown): string => `${job}: ${(error as Error).message}`;
const jobs = Array.from({ length: 12 }, (_, i) => i);

test("gives results in the order of the jobs, whatever finishes first", async () => {
  const { seen, start } = squaring();
  const done: number[] = [];
  const onDone = (_: string, index: number): void => void done.push(index);
  const results = await shareOut(jobs, { workerCount: 5, start, resultOfDeath, onDone });
  expect(results).toEqual(jobs.map((j) => String(j * j)));
  expect([...done].sort((a, b) => a - b)).toEqual(jobs);
  expect(done).not.toEqual(jobs);
  expect(seen).toEqual({ started: 5, stopped: 5, inFlight: 0, mostInFlight: 5 });
});

test("a worker that dies costs one job and is replaced", async () => {
  const { seen, start } = squaring([3, 11]);
  const results = await shareOut(jobs, { workerCount: 2, start, resultOfDeath });
  expect(results).toEqual(jobs.map((j) => (j === 3 || j === 11 ? `${j}: out of memory` : String(j * j))));
  // Job 11 is the last: nobody starts a worker that has nothing to do.
  expect(seen.started).toBe(3);
  expect(seen.stopped).toBe(3);
  expect(seen.mostInFlight).toBe(2);
});

test("starts no more workers than there are jobs, and none for no job", async () => {
  const few = squaring();
  await shareOut([1, 2], { workerCount: 8, start: few.start, resultOfDeath });
  expect(few.seen.started).toBe(2);
  const none = squaring();
  expect(await shareOut([], { workerCount: 8, start: none.start, resultOfDeath })).toEqual([]);
  expect(none.seen.started).toBe(0);
});
