import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Writable } from "node:stream";
import { Command } from "commander";
import { afterAll, beforeAll, expect, test } from "vitest";
import { addTrainCommand } from "../../src/commands/train.js";
import { InputError, UsageError } from "../../src/problem/index.js";
import { exampleMovements } from "../../src/trains/index.js";
import { inventedSurvey } from "../report/invented-survey.js";

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "trains-"));
});
afterAll(() => rm(folder, { recursive: true }));

async function file(name: string, text: string): Promise<string> {
  const path = join(folder, name);
  await writeFile(path, text);
  return path;
}

/** What `wheelsurvey train ...` writes to stdout. */
async function train(...args: string[]): Promise<string> {
  let out = "";
  const stdout = new Writable({
    write: (chunk: Buffer, _encoding, done) => {
      out += chunk.toString();
      done();
    },
  });
  const program = new Command("wheelsurvey").exitOverride().configureOutput({ writeErr: () => undefined });
  addTrainCommand(program, { stdout, stderr: stdout, setExitCode: () => undefined });
  await program.parseAsync(["train", ...args], { from: "user" });
  return out;
}

test("--example prints a file that the command itself reads", async () => {
  for (const name of exampleMovements.keys()) {
    const path = await file(`${name}.yaml`, await train("--example", name));
    expect(await train(path)).toContain("Time train");
  }
  expect(await train("--example")).toBe(exampleMovements.get("time-and-strike"));
  await expect(train("--example", "sundial")).rejects.toThrow(/expected one of: time-and-strike/);
});

test("draws each pinion under the wheel that drives it", async () => {
  const path = await file("draw.yaml", exampleMovements.get("time-and-strike")!);
  const out = await train(path);
  // Looked at: great 96, centre 8 and 60, third 8 and 56, escape 7 and 30.
  expect(out.split("\n").slice(2, 7)).toEqual([
    "Time train",
    "  96                great    once in 12 h",
    "   8──60            centre   once in 1 h     minute hand",
    "       8──56        third    once in 8 min",
    "           7──30<   escape   once in 1 min   seconds hand, escape wheel",
  ]);
  expect(out).toContain("3600 beats an hour, 60 a minute, one every 1 s");
  // 51.5 degrees: 994.167 mm at the sea (GRS 80), 30 m up 0.01 mm less; ± 2 x 0.0005 m/s² of anomalies are 0.10 mm.
  expect(out).toMatch(/pendulum 994\.1[56] ± 0\.1[01] mm/);
});

test("--latitude, --height and --inches: 39.14 in at 51.5 degrees (Griffiths), shorter on a mountain", async () => {
  const path = await file("place.yaml", exampleMovements.get("chime")!);
  expect(await train(path, "--latitude", "51.5", "--inches")).toMatch(/pendulum 39\.14\d\d ± 0\.0040 in/);
  // 3000 m: 0.0942 % less gravity, 993.23 mm.
  expect(await train(path, "--latitude", "51.5", "--height", "3000")).toMatch(
    /pendulum 993\.2\d ± 0\.1[01] mm/,
  );
  await expect(train(path, "--latitude", "200")).rejects.toThrow(/-90 to 90/);
  await expect(train(path, "--height", "30")).rejects.toThrow(UsageError);
});

test("--json gives snake_case keys, answers and no text", async () => {
  const path = await file("json.yaml", exampleMovements.get("missing-wheel")!);
  const json = JSON.parse(await train(path, "--json")) as Record<string, never>;
  expect(Object.keys(json)).toEqual(["schema", "result", "missing"]);
  expect(json).toMatchObject({
    schema: "wheelsurvey/train/1",
    result: { missing: [{ position: "time.third.pinion" }, { position: "time.third.wheel" }] },
    missing: [{ used_conditions: expect.any(Array) as unknown }],
  });
  expect(JSON.stringify(json)).not.toMatch(/"[a-z]+[A-Z][a-zA-Z]*":/);
});

test("--answers shows as many answers as asked for, and says how many there are", async () => {
  const path = await file("answers.yaml", exampleMovements.get("missing-wheel")!);
  const few = await train(path, "--answers", "2");
  const [, found] = /the best 2 of (\d+) answers/.exec(few)!;
  const all = await train(path, "--answers", found!);
  expect(all).not.toContain("the best");
  expect(all.split("\n").filter((line) => line.includes(" Ø ")).length).toBe(Number(found));
  await expect(train(path, "--answers", "0")).rejects.toThrow(/whole number from 1/);
});

test("--change shows what another count does", async () => {
  const path = await file("change.yaml", exampleMovements.get("time-and-strike")!);
  const out = await train(path, "--change", "Strike.Pin Wheel.pins=12");
  expect(out).toContain("strike: blows a turn x 1.5 (50.0 % more), going time x 1.5 (50.0 % more)");
  // Eight days on 16 turns of 78 blows, 156 blows a day; with half as many blows again twelve.
  expect(out).toContain("goes 12 days instead of 8 days");
  await expect(train(path, "--change", "strike.hammer=2")).rejects.toThrow(/no count of this movement/);
  await expect(train(path, "--change", "strike")).rejects.toThrow(/the new count/);
});

test("three pins and three locking places where two are usual: the strike runs half as long again, and all is home", async () => {
  // Common practice, no source: each blow takes a third of a turn instead of half of one.
  const path = await file(
    "pins.yaml",
    `trains:
  strike:
    power: { turns: 10 }
    arbors:
      great: { wheel: 96 }
      second: { pinion: 8, wheel: 72 }
      pin wheel: { pinion: 8, wheel: 60, pins: 2, locks: 2 }
      warning: { pinion: 10, wheel: 48, warning: 1 }
`,
  );
  const change = ["--change", "strike.pin wheel.pins=3", "--change", "strike.pin wheel.locks=3"];
  const out = await train(path, ...change);
  expect(out).toContain("blows a turn x 1.5 (50.0 % more), going time x 1.5 (50.0 % more)");
  // 10 turns x 12 x 9 x 2 blows over 156 a day are 13.85 days; three pins make 20.77 of it.
  expect(out).toContain("goes 20.77 days instead of 13.85 days");
  expect(out).not.toContain("New findings");
  // With three pins and two slots the pin wheel stops between them.
  const half = await train(path, ...change.slice(0, 2));
  expect(half).toContain("so its 2 locking places are not home after every blow");
});

test("measured sizes are shown with their doubt, pair by pair", async () => {
  const path = await file("sizes.yaml", exampleMovements.get("missing-wheel")!);
  const out = await train(path, "--change", "time.third.pinion=8");
  expect(out).toMatch(/^Sizes of pairs$/m);
  // Module 47.8 mm / (72 + 2 x 1.38) = 0.639 mm (common practice: addendum 1.38 modules).
  expect(out).toMatch(/time\.centre\.wheel +time\.third\.pinion +0\.639\d ± 0\.00\d\d mm/);
  expect(out).toMatch(/25\.60 ± 0\.20 mm/);
});

test("whoever measures a mainspring or a weight is told what they can do", async () => {
  const spring = await train(await file("spring.yaml", exampleMovements.get("spring-rack")!));
  expect(spring).toMatch(/Caution: a wound mainspring.*let-down key/);
  expect(spring).toContain("licensed professional");
  const weight = await train(await file("weight.yaml", exampleMovements.get("time-and-strike")!));
  expect(weight).toMatch(/Caution: take weights off/);
  expect(weight).not.toContain("mainspring");
  expect(await train(await file("turns.yaml", exampleMovements.get("chime")!))).not.toContain("Caution");
});

test("an empty file is told from a wrong one", async () => {
  const path = await file("empty.yaml", "# nothing yet\n");
  await expect(train(path)).rejects.toThrow(/empty\.yaml, the file is empty; a movement file begins with/);
});

test("--measured takes the survey.json of a report too", async () => {
  const { survey } = await inventedSurvey();
  const measured = await file("measured.json", JSON.stringify(survey.measurement));
  const whole = await file("survey.json", JSON.stringify(survey));
  const draft = await train("--measured", whole);
  expect(draft).toBe(await train("--measured", measured));
  // The invented tray holds T1 to T3 with 96, 64 and 60 teeth.
  expect(draft).toMatch(/teeth: 96|wheel: 96|96: /);
});

test("a bad file names itself and every line; a missing one says so", async () => {
  const path = await file(
    "bad.yaml",
    "trains:\n  time:\n    arbors:\n      great: { whel: 96 }\n      b: { pinion: 0 }\n",
  );
  const error = await train(path).catch((reason: unknown) => reason);
  expect(error).toBeInstanceOf(InputError);
  expect((error as Error).message).toMatch(/bad\.yaml, line 4: .*; .*bad\.yaml, line 5: /);
  await expect(train(join(folder, "none.yaml"))).rejects.toThrow(/cannot be read/);
  await expect(train(folder)).rejects.toThrow(/no ordinary file/);
  await expect(train()).rejects.toThrow(/--example/);
});

test("names with terminal codes are shown, not obeyed", async () => {
  const path = await file(
    "hostile.yaml",
    'movement: "a\\e[31mb"\ntrains: { "t\\e[2J": { arbors: { "g\\e[1m": { wheel: 96 } } } }\n',
  );
  expect(await train(path)).not.toContain("\u001b");
  expect(await train(path, "--json")).not.toContain("\u001b");
});

const measurement = (count: number, probability: number) =>
  JSON.stringify({
    schema: "wheelsurvey/measurement/1",
    software: { name: "wheelsurvey", version: "0.0.0" },
    photos: [
      {
        file: "a.jpg",
        scale: { source: "none" },
        parts: [
          {
            id: "1",
            kind: "wheel",
            label: "T3",
            centre_px: [1, 2],
            teeth: {
              count,
              probability,
              alternatives: [{ count: count + 1, probability: 1 - probability }],
              missing: [],
              bent: [],
            },
            findings: [],
          },
        ],
        problems: [],
      },
    ],
    sets: [],
  });

test("--measured weighs photographs against the train, or begins a file from them", async () => {
  const json = await file("m.json", measurement(55, 0.6));
  expect(await train("--measured", json)).toContain(
    "third: { pinion: ?, wheel: { seen: { 55: 0.6, 56: 0.4 } } }",
  );
  const path = await file("doubt.yaml", `beats per hour: 3600\n${exampleMovements.get("time-and-strike")!}`);
  const out = await train(path, "--measured", json);
  expect(out).toContain("the wheel of third (time): 56");
  expect(out).toContain("the photographs alone: 55");
  expect(out).toMatch(/decided by: .*3600 beats an hour/);
});
