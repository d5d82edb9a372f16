import { Command } from "commander";
import { mkdir, mkdtemp, readdir, readFile, rm, symlink, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Writable } from "node:stream";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { addMatCommand } from "../../src/commands/mat.js";
import type { MatOptions } from "../../src/commands/run-mat.js";
import { runMat } from "../../src/commands/run-mat.js";
import { drawMatPdf, drawTagsPdf } from "../../src/mat/index.js";
import { UsageError } from "../../src/problem/index.js";

class Talk {
  text = "";
  readonly stream = new Writable({
    write: (chunk: Buffer, _encoding, done) => {
      this.text += chunk.toString();
      done();
    },
  });
}

let folder: string;
let configFolder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), "mat-command-"));
  configFolder = join(folder, "config");
});
afterEach(() => rm(folder, { recursive: true }));

async function run(options: MatOptions): Promise<{ out: string; talk: string }> {
  const [out, talk] = [new Talk(), new Talk()];
  const io = { stdout: out.stream, stderr: talk.stream, setExitCode: () => undefined };
  await runMat(options, io, { folder, configFolder });
  return { out: out.text, talk: talk.text };
}

describe("mat", () => {
  test("writes the A4 mat, says where it is and what comes next", async () => {
    const { out, talk } = await run({});
    const file = join(folder, "wheelsurvey-mat-a4.pdf");
    expect(out).toBe(`${file}\n`);
    expect((await readFile(file)).equals(Buffer.from(await drawMatPdf("a4")))).toBe(true);
    expect(talk).toContain("print at 100 %");
    expect(talk).toContain("150.0 mm nominal");
    expect(talk).toContain("--mat-across MM --mat-along MM");
    expect(await readdir(folder)).toEqual(["wheelsurvey-mat-a4.pdf"]);
  });

  test("writes the tags of another paper under a given name", async () => {
    const { out } = await run({ tags: true, paper: "letter", out: "cards.pdf" });
    expect(out).toBe(`${join(folder, "cards.pdf")}\n`);
    expect((await readFile(join(folder, "cards.pdf"))).equals(Buffer.from(await drawTagsPdf("letter")))).toBe(
      true,
    );
  });

  test("writes all nine sheets", async () => {
    const { out, talk } = await run({ all: true });
    const names = ["a3", "a4", "letter"].flatMap((paper) => [
      `wheelsurvey-mat-${paper}.pdf`,
      `wheelsurvey-sets-${paper}.pdf`,
      `wheelsurvey-tags-${paper}.pdf`,
    ]);
    expect((await readdir(folder)).sort()).toEqual(names.sort());
    expect(out.trim().split("\n")).toHaveLength(9);
    expect(talk).toContain("--paper SIZE");
  });

  test("overwrites its own sheet, also with a sheet of another paper", async () => {
    await run({ out: "mat.pdf" });
    await run({ out: "mat.pdf", paper: "a3" });
    expect((await readFile(join(folder, "mat.pdf"))).equals(Buffer.from(await drawMatPdf("a3")))).toBe(true);
  });

  test.each([
    ["a letter", "Dear Sir"],
    ["another program's PDF", "%PDF-1.7\n1 0 obj\n(other) endobj"],
    ["a text about this program", "(wheelsurvey mat)"],
    ["nothing", ""],
    ["a large file", `%PDF-(wheelsurvey mat)${" ".repeat(1_000_001)}`],
  ])("leaves %s alone unless forced", async (_, content) => {
    const file = join(folder, "wheelsurvey-mat-a4.pdf");
    await writeFile(file, content);
    await expect(run({})).rejects.toThrow(UsageError);
    await expect(run({})).rejects.toThrow(/--force/);
    expect(await readFile(file, "utf8")).toBe(content);
    await run({ force: true });
    expect((await readFile(file)).equals(Buffer.from(await drawMatPdf("a4")))).toBe(true);
  });

  test("does not follow a link into somebody else's file", async () => {
    await writeFile(join(folder, "target.txt"), "kept");
    await symlink(join(folder, "target.txt"), join(folder, "wheelsurvey-mat-a4.pdf"));
    await expect(run({})).rejects.toThrow(UsageError);
    expect(await readFile(join(folder, "target.txt"), "utf8")).toBe("kept");
  });

  test("says what is wrong with a place that cannot be written", async () => {
    await mkdir(join(folder, "sub"));
    await expect(run({ out: "sub" })).rejects.toThrow(/received a folder/);
    await expect(run({ out: "none/mat.pdf" })).rejects.toThrow(/there is no folder .*none/);
    await expect(run({ out: "" })).rejects.toThrow(/--out expects a file name/);
    await expect(run({ out: "/dev/null", force: true })).rejects.toThrow(/ordinary file/);
  });

  test("remembers a printed mat, lists it and forgets it", async () => {
    const kept = await run({ remember: "bench mat", paper: "a4", matAcross: 149.6, matAlong: 150.3 });
    expect(kept.out).toBe("bench mat: A4, across 149.6 mm, along 150.3 mm\n");
    expect(kept.talk).toContain('measure PHOTO --mat "bench mat"');
    expect((await run({ list: true })).out).toBe(kept.out);
    await run({ forget: "bench mat" });
    const empty = await run({ list: true });
    expect(empty.out).toBe("");
    expect(empty.talk).toContain("No mat is remembered yet");
  });

  test("remarks on a mat that was fitted to the page", async () => {
    const { talk } = await run({ remember: "x", paper: "a4", matAcross: 145, matAlong: 145 });
    expect(talk).toContain("printed to fit the page");
  });

  test.each<[string, MatOptions, RegExp]>([
    ["a reading short", { remember: "x", paper: "a4", matAcross: 150 }, /--mat-along missing/],
    ["no paper", { remember: "x", matAcross: 150, matAlong: 150 }, /--paper missing/],
    ["readings for no name", { matAcross: 150, matAlong: 150 }, /belong with --remember/],
    ["inches", { remember: "x", paper: "a4", matAcross: 5.9, matAlong: 150 }, /inches/],
    ["two tasks", { list: true, forget: "x" }, /one task, received --list, --forget/],
    ["writing and remembering", { remember: "x", out: "y.pdf" }, /received --remember, --out/],
    ["all under one name", { all: true, out: "y.pdf" }, /leave out --out/],
  ])("refuses %s and writes nothing", async (_, options, message) => {
    await expect(run(options)).rejects.toThrow(UsageError);
    await expect(run(options)).rejects.toThrow(message);
    expect(await readdir(folder)).toEqual([]);
  });
});

describe("the command line of mat", () => {
  async function parse(...words: string[]): Promise<{ out: string; talk: string }> {
    const [out, talk] = [new Talk(), new Talk()];
    const program = new Command("wheelsurvey").exitOverride();
    addMatCommand(program, { stdout: out.stream, stderr: talk.stream, setExitCode: () => undefined });
    for (const command of [program, ...program.commands]) {
      command.exitOverride().configureOutput({ writeErr: (text) => void (talk.text += text) });
    }
    await program.parseAsync(["mat", ...words], { from: "user" });
    return { out: out.text, talk: talk.text };
  }

  test("passes its options on", async () => {
    const file = join(folder, "cards.pdf");
    expect((await parse("--tags", "--paper", "a3", "--out", file)).out).toBe(`${file}\n`);
    expect((await readFile(file)).equals(Buffer.from(await drawTagsPdf("a3")))).toBe(true);
  });

  test.each([
    ["--paper", "a5"],
    ["--mat-across", "wide"],
    ["--mat-across", "149,6"],
    ["--mat-along", "1e3"],
    ["--mat-along", "-150"],
    ["--mat-along", "0x96"],
  ])("refuses %s %s", async (option, value) => {
    await expect(parse(`${option}=${value}`)).rejects.toMatchObject({ code: "commander.invalidArgument" });
  });
});
