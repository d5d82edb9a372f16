import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, expect, test, vi } from "vitest";
import { z } from "zod";
import { call } from "./recorded-io.js";

vi.setConfig({ testTimeout: 300_000, hookTimeout: 300_000 });

// The plates of samples/movement-parts (rendered, invented), from both photographs to depths, as a user goes about it.
const samples = fileURLToPath(new URL("../../samples/movement-parts", import.meta.url));
const pair = z.tuple([z.number(), z.number()]);
const truthSchema = z.object({
  parts: z.tuple([z.object({ holes: z.array(z.object({ use: z.string(), centre_mm: pair })) })]),
});
const measuredSchema = z.object({
  photos: z.array(
    z.object({
      parts: z.tuple([z.object({ holes: z.array(z.object({ id: z.string(), centre_mm: pair })) })]),
    }),
  ),
});
const platesSchema = z.object({
  match: z.object({ matched: z.literal(true), arbors: z.array(z.object({ first: z.string() })) }),
  distances: z.array(z.object({ from: z.string(), to: z.string(), value: z.number(), u: z.number() })),
  depths: z.array(z.object({ verdict: z.string(), words: z.string() })),
});

let folder: string;
let file: string;
let arbors: readonly { readonly id: string; readonly at: readonly [number, number] }[];

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "plates-"));
  file = join(folder, "plates.json");
  const photos = ["19-front-plate", "20-back-plate"].map((name) => `${samples}/photos/${name}.jpg`);
  // What calipers read, as samples/README.md says.
  const bars = ["--mat-across", "149.62", "--mat-along", "150.46"];
  const heights = ["--face-height", "P1=2.4", "--face-height", "P2=2.6"];
  const { out } = await call("measure", ...photos, ...bars, ...heights, "--json");
  await writeFile(file, out);
  const truth = truthSchema.parse(JSON.parse(await readFile(`${samples}/truth/19-front-plate.json`, "utf8")));
  const front = measuredSchema.parse(JSON.parse(out)).photos[0]!.parts[0].holes;
  arbors = truth.parts[0].holes
    .filter(({ use }) => use === "pivot")
    .map(({ centre_mm: at }) => {
      const hole = front.find(({ centre_mm: [x, y] }) => Math.hypot(x - at[0], y - at[1]) < 0.5);
      return { id: hole!.id, at };
    });
});
afterAll(() => rm(folder, { recursive: true }));

const plates = async (...more: string[]): Promise<z.infer<typeof platesSchema>> =>
  platesSchema.parse(JSON.parse((await call("plates", file, ...more, "--json")).out));

test("both plates lie over each other: all nine arbors are named, also both thick ones, with their distances", async () => {
  const { match, distances } = await plates();
  const named = match.arbors.map(({ first }) => first);
  for (const { id } of arbors) expect(named).toContain(id);
  const errors = arbors.flatMap((a, i) =>
    arbors.slice(i + 1).flatMap((b) => {
      const found = distances.find(({ from, to }) => [from, to].includes(a.id) && [from, to].includes(b.id));
      if (found === undefined) return [];
      const truly = Math.hypot(a.at[0] - b.at[0], a.at[1] - b.at[1]);
      return [{ error: found.value - truly, u: found.u }];
    }),
  );
  expect(errors.length).toBeGreaterThan(20);
  expect(errors.filter(({ error, u }) => Math.abs(error) > 2 * u).length).toBeLessThan(0.1 * errors.length);
});

// Invented movement of the samples: third wheel 70 on escape pinion 7, module 0.52, set 0.15 mm too deep.
test("a depth that is wrong is not called right, and a pair that cannot mesh is named as such", async () => {
  const near = (x: number, y: number): string =>
    arbors.find(({ at }) => Math.hypot(at[0] - x, at[1] - y) < 0.5)!.id;
  const [centre, third, escape] = [near(-13.8, -3.77), near(-23.42, 19.85), near(-14.88, 37.79)];
  const { depths } = await plates(
    ...["--depth", `${centre},${third}=78/7@0.6±0.001`],
    ...["--depth", `${third},${escape}=70/7@0.52±0.001`],
    ...["--depth", `${centre},${escape}=70/7@0.52±0.001`],
  );
  expect(["right", "cannot tell"]).toContain(depths[0]!.verdict);
  expect(["too deep", "cannot tell"]).toContain(depths[1]!.verdict);
  expect(depths[2]!.verdict).toBe("cannot tell");
  expect(depths[2]!.words).toContain("cannot mesh");
});
