import { copyFile, mkdtemp, readFile, rm, stat, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";
import { loadToothReader } from "../../src/segment/index.js";

const models = fileURLToPath(new URL("../../models/", import.meta.url));
const [rows, columns] = [32, 128];

test("the network for teeth is as large as its description says, and small", async () => {
  const { size } = await stat(join(models, "teeth.onnx"));
  const description: unknown = JSON.parse(await readFile(join(models, "teeth.json"), "utf8"));
  expect(description).toMatchObject({ bytes: size, rows });
  expect(size).toBeLessThan(1_000_000);
});

describe("a network that is not what its description says", () => {
  test("is refused in one line, damaged or missing", async () => {
    const folder = await mkdtemp(join(tmpdir(), "teeth-"));
    try {
      const none = await loadToothReader({ folder });
      expect(none).toMatchObject({ ok: false, problem: { code: "file-unreadable" } });
      const bytes = await readFile(join(models, "teeth.onnx"));
      bytes[bytes.length >> 1]! ^= 1;
      await writeFile(join(folder, "teeth.onnx"), bytes);
      await copyFile(join(models, "teeth.json"), join(folder, "teeth.json"));
      const damaged = await loadToothReader({ folder });
      expect(damaged.ok).toBe(false);
      if (!damaged.ok) expect(damaged.problem.text).toMatch(/^network not used: teeth\.onnx is damaged/);
    } finally {
      await rm(folder, { recursive: true });
    }
  });
});

// Source: PyTorch on the same input, written by models/training/export_teeth.py, which has the same closed form.
test("the runtime gives PyTorch's answer within the rounding of half floats", async () => {
  const bytes = new Uint8Array(await readFile(new URL("teeth-32x128.f32", import.meta.url)));
  const expected = new Float32Array(bytes.buffer);
  expect(expected.length).toBe(3 * columns);
  const planes = new Float32Array(3 * rows * columns);
  for (let k = 0; k < 3; k++)
    for (let y = 0; y < rows; y++)
      for (let x = 0; x < columns; x++)
        planes[(k * rows + y) * columns + x] = (y > 8 + k ? Math.sin(0.7 * x + 0.1 * k) : 0) + 0.01 * y;
  const reader = await loadToothReader();
  if (!reader.ok) throw new Error(reader.problem.text);
  const found = await reader.value.read(planes, columns);
  await reader.value.close();
  let worst = 0;
  for (let i = 0; i < found.length; i++) worst = Math.max(worst, Math.abs(found[i]! - expected[i]!));
  expect(worst).toBeLessThan(2e-2);
  expect(Math.max(...expected) - Math.min(...expected)).toBeGreaterThan(1);
});
