import { execFile, spawn } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, expect, test } from "vitest";

const root = fileURLToPath(new URL("../..", import.meta.url));
const cli = join(root, "src", "cli.ts");
let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "cli-"));
});
afterAll(() => rm(folder, { recursive: true }));

const run = (args: readonly string[], nodeArgs: readonly string[] = []) =>
  new Promise<{ readonly code: number; readonly out: string; readonly err: string }>((resolve) => {
    execFile(
      process.execPath,
      ["--import", "tsx", ...nodeArgs, cli, ...args],
      { cwd: root },
      (error, out, err) => resolve({ code: typeof error?.code === "number" ? error.code : 0, out, err }),
    );
  });

test("the built file is what the package calls, and can be called", async () => {
  const { bin, version } = JSON.parse(await readFile(join(root, "package.json"), "utf8")) as {
    bin: Record<string, string>;
    version: string;
  };
  expect(bin).toEqual({ wheelsurvey: "dist/cli.js" });
  expect((await readFile(cli, "utf8")).startsWith("#!/usr/bin/env node\n")).toBe(true);
  expect(await run(["--version"])).toEqual({ code: 0, out: `${version}\n`, err: "" });
});

test("exit codes reach the shell: 2 for a wrong call, 3 for a photograph that is none", async () => {
  const words = join(folder, "words.jpg");
  await writeFile(words, "no picture");
  const [wrong, none, nothing] = await Promise.all([run(["mesure"]), run(["measure", words]), run([])]);
  expect(wrong.code).toBe(2);
  expect(wrong.err).toContain("unknown command 'mesure'");
  expect(none.code).toBe(3);
  expect(none.out).toContain("the file is not a picture");
  expect(nothing.code).toBe(2);
  expect(nothing.err).toContain("Usage:");
});

test("--help loads nothing heavy", async () => {
  // Everything that the process imports or requires, one name a line.
  const log = join(folder, "resolved.txt");
  const hooks = join(folder, "hooks.mjs");
  const start = join(folder, "start.mjs");
  await writeFile(
    hooks,
    `import { appendFileSync } from "node:fs";
     export async function resolve(name, context, next) {
       appendFileSync(${JSON.stringify(log)}, name + "\\n");
       return next(name, context);
     }`,
  );
  await writeFile(
    start,
    `import { appendFileSync } from "node:fs";
     import Module, { register } from "node:module";
     register(${JSON.stringify(`file://${hooks}`)});
     const load = Module._load;
     Module._load = function (name, ...rest) {
       appendFileSync(${JSON.stringify(log)}, name + "\\n");
       return load.call(this, name, ...rest);
     };`,
  );
  const { code, out } = await run(["measure", "--help"], ["--import", start]);
  expect(code).toBe(0);
  expect(out).toContain("--px-per-mm");
  const resolved = (await readFile(log, "utf8")).split("\n");
  expect(resolved).toContain("commander");
  const heavy =
    /sharp|opencv|onnx|heic|pdfkit|exifr|zod|preact|write-file-atomic|cli-table|cli-progress|aruco|yaml/;
  expect(resolved.filter((name) => heavy.test(name))).toEqual([]);
  // The log would show them: a call that decodes does load sharp.
  const words = join(folder, "empty.png");
  await writeFile(words, "\x89PNG\r\n\x1a\n", "latin1");
  await run(["measure", words], ["--import", start]);
  expect((await readFile(log, "utf8")).split("\n")).toContain("sharp");
});

test("a reader that has seen enough is no error", async () => {
  const child = spawn(process.execPath, ["--import", "tsx", cli, "--help"], { cwd: root });
  child.stdout.destroy();
  let err = "";
  child.stderr.on("data", (chunk: Buffer) => (err += chunk.toString()));
  const code = await new Promise((resolve) => child.on("close", resolve));
  expect(err).toBe("");
  expect(code).toBe(0);
});
