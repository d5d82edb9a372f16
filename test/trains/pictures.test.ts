import { mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Writable } from "node:stream";
import { Command } from "commander";
import { expect, test } from "vitest";
import { addTrainCommand } from "../../src/commands/train.js";
import { UsageError } from "../../src/problem/index.js";
import {
  drawTrainElevation,
  drawTrainPlan,
  evaluateMovement,
  exampleMovements,
} from "../../src/trains/index.js";
import { movementOf } from "./evaluated.js";

const drawings = (yaml: string) => {
  const movement = movementOf(yaml);
  const result = evaluateMovement(movement);
  return [drawTrainElevation(movement, result), drawTrainPlan(movement, result)] as const;
};

test("both views carry every count, and nothing that is no number", () => {
  for (const yaml of exampleMovements.values()) {
    const movement = movementOf(yaml);
    for (const svg of drawings(yaml)) {
      for (const { arbors } of movement.trains)
        for (const { wheel, pinion } of arbors)
          for (const gear of [wheel, pinion])
            if (gear) expect(svg).toContain(`${gear.kind} ${gear.teeth === "missing" ? "?" : gear.teeth}`);
      expect(svg).not.toMatch(/NaN|Infinity|undefined/);
    }
  }
});

/** Heights of the plan's rectangles of one width, in the order of the file. */
const heightsOf = (svg: string, width: number) =>
  [
    ...svg.matchAll(new RegExp(`<rect x="[\\d.-]+" y="[\\d.-]+" width="${width}" height="([\\d.]+)"`, "g")),
  ].map(([, h]) => Number(h));

test("wheels are in proportion: tip diameters (N + 2.76) m", () => {
  const [, plan] = drawings(`trains:
  time:
    arbors:
      great: { wheel: 96 }
      centre: { pinion: 8, wheel: 48, hand: minute }
      third: { pinion: 8 }
`);
  const [great, centre] = heightsOf(plan, 7);
  expect(great! / centre!).toBeCloseTo(98.76 / 50.76, 3);
});

test("a lost count is dashed, a finding is hatched, and neither hangs on colour", () => {
  const [elevation, plan] = drawings(exampleMovements.get("missing-wheel")!);
  for (const svg of [elevation, plan]) {
    // Two gears, and the legend.
    expect(svg.match(/stroke-dasharray="5 3"/g)).toHaveLength(3);
    expect([...svg.matchAll(/#[0-9a-f]{3,6}\b/g)].every(([c]) => /^#(.)\1\1$/.test(c))).toBe(true);
  }
  const faulty = drawings(`trains:
  time:
    arbors:
      great: { wheel: { teeth: 96, module: 1 ± 0.01 mm } }
      centre: { pinion: { leaves: 8, module: 0.7 ± 0.01 mm }, wheel: 60, hand: minute }
      escape: { pinion: 8, escape wheel: 30 }
`);
  for (const svg of faulty) {
    // The pinion that does not mate, and the legend.
    expect(svg.match(/fill="url\(#hatch\)"/g)).toHaveLength(2);
    expect(svg).toContain("pinion 8 (!)");
  }
});

test("a hostile name stays text", () => {
  for (const svg of drawings(`movement: "</title><script>alert(1)</script>"
trains:
  time:
    arbors:
      "<img src=x>": { wheel: 96 }
      'a"&b': { pinion: 8, wheel: 60, hand: minute }
`)) {
    expect(svg).not.toMatch(/<script|<img/);
    expect(svg).toContain("&lt;img src=x&gt;");
    expect(svg).toContain("a&quot;&amp;b");
  }
});

async function train(...args: string[]): Promise<{ out: string; talk: string }> {
  const texts = { out: "", talk: "" };
  const into = (key: "out" | "talk") =>
    new Writable({
      write: (chunk: Buffer, _encoding, done) => {
        texts[key] += chunk.toString();
        done();
      },
    });
  const program = new Command("wheelsurvey").exitOverride().configureOutput({ writeErr: () => undefined });
  addTrainCommand(program, { stdout: into("out"), stderr: into("talk"), setExitCode: () => undefined });
  await program.parseAsync(["train", ...args], { from: "user" });
  return texts;
}

test("the command writes pictures and sheets, over its own files but nobody else's", async () => {
  const folder = await mkdtemp(join(tmpdir(), "pictures-"));
  try {
    const file = join(folder, "m.yaml");
    await writeFile(file, exampleMovements.get("missing-wheel")!);
    const out = join(folder, "new", "out");
    for (let twice = 0; twice < 2; twice++) await train(file, "--picture", out);
    expect(await readdir(out)).toEqual(["train-elevation.svg", "train-plan.svg"]);
    const sheet = ["--cutting-sheet", "time.third.wheel", "--out", out];
    await expect(train(file, ...sheet)).rejects.toThrow(/not known/);
    const changes = ["--change", "time.third.wheel=60", "--change", "time.third.pinion=8"];
    const { out: text } = await train(file, ...sheet, ...changes, "--dividing-plate", "60,72");
    expect(text).toContain("CHECK AGAINST THE MATING PART");
    expect(text).toContain("row of 60: advance 1 hole for each tooth");
    expect((await readdir(out)).filter((name) => name.startsWith("cutting"))).toEqual([
      "cutting-time-third-wheel.dxf",
      "cutting-time-third-wheel.html",
      "cutting-time-third-wheel.svg",
    ]);
    await expect(train(file, "--cutting-sheet", "time.third.wheel")).rejects.toThrow(UsageError);
    await expect(train(file, "--dividing-plate", "60")).rejects.toThrow(UsageError);
    await writeFile(join(out, "train-plan.svg"), "<svg>mine</svg>");
    await expect(train(file, "--picture", out)).rejects.toThrow(/did not write/);
    expect(await readFile(join(out, "train-plan.svg"), "utf8")).toBe("<svg>mine</svg>");
  } finally {
    await rm(folder, { recursive: true });
  }
});
