import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test, vi } from "vitest";
import type * as Parts from "../../src/parts/index.js";
import { measurePhotos } from "../../src/pipeline/index.js";
import { drawWheel } from "../photo/drawn-wheel.js";

vi.mock("../../src/parts/index.js", async (importOriginal) => ({
  ...(await importOriginal<typeof Parts>()),
  findAndMeasureParts: () => {
    throw new TypeError("broken on purpose");
  },
}));

test("an error of this program becomes a problem of that photograph, and the others go on", async () => {
  const folder = await mkdtemp(join(tmpdir(), "unexpected-"));
  const wheel = join(folder, "wheel.png");
  await drawWheel().png().toFile(wheel);
  const records = await measurePhotos([wheel, join(folder, "none.jpg")], { pxPerMm: 10 }, { workers: 1 });
  await rm(folder, { recursive: true });
  expect(records.map(({ problems }) => problems[0]!.code)).toEqual(["unexpected", "file-unreadable"]);
  expect(records[0]!.problems[0]!.text).toContain("broken on purpose");
  expect(records[0]!.problems[0]!.advice).toContain("report");
  expect(records[0]!.settings).toEqual({ px_per_mm: 10 });
});
