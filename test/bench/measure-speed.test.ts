import { expect, test } from "vitest";
import { median, mediansOf, runNode, timed } from "./measure-speed.js";

test("takes the middle of odd and even numbers of times", () => {
  expect(median([9, 1, 5])).toBe(5);
  expect(median([9, 1, 5, 7])).toBe(6);
  expect(() => median([])).toThrow(RangeError);
});

test("takes jobs in turn, so that drift of the machine meets all alike", async () => {
  const order: string[] = [];
  const times = await mediansOf({ a: () => order.push("a"), b: () => order.push("b") }, 3);
  expect(order).toEqual(["a", "b", "a", "b", "a", "b"]);
  expect(Object.keys(times)).toEqual(["a", "b"]);
});

test("sees the memory that a program takes, and what it takes more than another", async () => {
  const little = await runNode(["-e", "0"]);
  const much = await runNode(["-e", "globalThis.kept = Buffer.alloc(300e6, 1)"]);
  expect(little.peakMb).toBeGreaterThan(10);
  // 300 MB more, but for what garbage collection does.
  expect(much.peakMb - little.peakMb).toBeGreaterThan(270);
  expect(much.peakMb - little.peakMb).toBeLessThan(340);
});

test("passes on the last words of a program that fails", async () => {
  await expect(runNode(["-e", "console.error('no luck'); process.exit(4)"])).rejects.toThrow(
    /exit code 4\nno luck/,
  );
});

test("tells waiting from working", async () => {
  const waiting = await timed(() => new Promise((done) => setTimeout(done, 300)));
  expect(waiting.wallMs).toBeGreaterThan(290);
  expect(waiting.processorMs).toBeLessThan(waiting.wallMs);
  const working = await timed(() => {
    const end = process.cpuUsage().user + 100_000;
    // Asking for the time is itself work, of the system: asked seldom.
    while (process.cpuUsage().user < end) for (let i = 0, x = 0; i < 1e6; i++) x += Math.sqrt(i + x);
  });
  expect(working.processorMs).toBeGreaterThanOrEqual(100);
});

test("adds up a program's processor time", async () => {
  const busy =
    "const { user } = process.cpuUsage(); " +
    "while (process.cpuUsage().user < user + 100_000) for (let i = 0, x = 0; i < 1e6; i++) x += Math.sqrt(i + x);";
  const { processorMs, wallMs } = await runNode(["-e", busy]);
  expect(processorMs).toBeGreaterThan(100);
  expect(wallMs).toBeGreaterThan(100);
});
