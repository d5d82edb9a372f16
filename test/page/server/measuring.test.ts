import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, test } from "vitest";
import { Measuring, type MeasureJob } from "../../../src/page/server/measuring.js";
import { tinyPicture } from "../page-fixture.js";

const folder = mkdtempSync(join(tmpdir(), "measuring-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function jobs(count: number): Promise<MeasureJob[]> {
  const data = await tinyPicture("#556677");
  return Array.from({ length: count }, (_, i) => {
    const path = join(folder, `${i}.jpg`);
    writeFileSync(path, data);
    return { name: `${i}.jpg`, path, settings: {}, purpose: "record" as const };
  });
}

describe("measuring in threads", () => {
  test("every photograph is done once; the one that somebody looks at comes next", async () => {
    const done: string[] = [];
    const measuring = new Measuring({
      workers: 1,
      onStart: () => undefined,
      onDone: ({ name }) => void done.push(name),
      onDeath: (_, error) => void done.push(String(error)),
    });
    const [a, b, c] = await jobs(3);
    measuring.add(a!);
    measuring.add(b!);
    measuring.add(c!, true);
    await expect.poll(() => done.length, { timeout: 60_000 }).toBe(3);
    expect(done).toEqual(["0.jpg", "2.jpg", "1.jpg"]);
    await measuring.close();
  });

  test("what is cancelled, waiting or running, is never done, and the rest goes on", async () => {
    const done: string[] = [];
    const started: string[] = [];
    const measuring = new Measuring({
      workers: 1,
      onStart: ({ name }) => void started.push(name),
      onDone: ({ name }) => void done.push(name),
      onDeath: ({ name }) => void done.push(`died ${name}`),
    });
    const [a, b, c] = await jobs(3);
    for (const job of [a!, b!, c!]) measuring.add(job);
    expect(started).toEqual(["0.jpg"]);
    expect(measuring.cancel("0.jpg").map(({ name }) => name)).toEqual(["0.jpg"]);
    expect(measuring.cancel("1.jpg").map(({ name }) => name)).toEqual(["1.jpg"]);
    expect(measuring.isRunning("0.jpg")).toBe(false);
    await expect.poll(() => done, { timeout: 60_000 }).toEqual(["2.jpg"]);
    measuring.add(a!);
    await expect.poll(() => done, { timeout: 60_000 }).toEqual(["2.jpg", "0.jpg"]);
    await measuring.close();
  });

  test("a thread keeps its settings: others get one of their own", async () => {
    const seen: (number | undefined)[] = [];
    const measuring = new Measuring({
      workers: 1,
      onStart: () => undefined,
      onDone: (_, record) => void seen.push(record.settings?.face_heights_mm?.[0]?.height_mm),
      onDeath: () => void seen.push(-1),
    });
    const [a, b] = await jobs(2);
    measuring.add({ ...a!, settings: { faceHeights: [{ heightMm: 2 }] } });
    measuring.add({ ...b!, settings: { faceHeights: [{ heightMm: 3 }] } });
    await expect.poll(() => seen, { timeout: 60_000 }).toEqual([2, 3]);
    await measuring.close();
  });
});
