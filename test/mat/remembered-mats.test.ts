import { mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import {
  configFolder,
  forgetMat,
  listRememberedMats,
  readRememberedMat,
  rememberMat,
} from "../../src/mat/index.js";
import { InputError, UsageError } from "../../src/problem/index.js";

let base: string;
let folder: string;
beforeEach(async () => {
  base = await mkdtemp(join(tmpdir(), "mats-"));
  folder = join(base, "not", "yet", "there");
});
afterEach(() => rm(base, { recursive: true }));

const bench = { name: "bench mat", paper: "a4", acrossMm: 149.6, alongMm: 150.3 } as const;

describe("remembered mats", () => {
  test("none is there before the first is remembered", async () => {
    expect(await listRememberedMats({ folder })).toEqual([]);
    await expect(readRememberedMat("bench", { folder })).rejects.toThrow(/none is remembered yet/);
  });

  test("a mat comes back as it was remembered, with the sheet's revision", async () => {
    await rememberMat(bench, { folder });
    expect(await readRememberedMat("bench mat", { folder })).toEqual({ ...bench, revision: 1 });
    expect(await readRememberedMat("  bench mat ", { folder })).toEqual({ ...bench, revision: 1 });
    expect(await readdir(folder)).toEqual(["mats.json"]);
  });

  test("the same name again replaces its readings and leaves the others", async () => {
    await rememberMat({ ...bench, name: "Zweite", paper: "a3", acrossMm: 250, alongMm: 251 }, { folder });
    await rememberMat(bench, { folder });
    await rememberMat({ ...bench, acrossMm: 149.9 }, { folder });
    const mats = await listRememberedMats({ folder });
    expect(mats.map(({ name, acrossMm }) => [name, acrossMm])).toEqual([
      ["bench mat", 149.9],
      ["Zweite", 250],
    ]);
  });

  test("an unknown name is refused with the names that are known", async () => {
    await rememberMat(bench, { folder });
    await expect(readRememberedMat("Bench mat", { folder })).rejects.toThrow(UsageError);
    await expect(readRememberedMat("other", { folder })).rejects.toThrow(/"other" \(known: bench mat\)/);
  });

  test("a forgotten mat is gone", async () => {
    await rememberMat(bench, { folder });
    await forgetMat("bench mat", { folder });
    expect(await listRememberedMats({ folder })).toEqual([]);
    await expect(forgetMat("bench mat", { folder })).rejects.toThrow(UsageError);
  });

  test("accented names are one name, typed composed or decomposed", async () => {
    await rememberMat({ ...bench, name: "\u00e9tabli" }, { folder });
    expect((await readRememberedMat("e\u0301tabli", { folder })).name).toBe("\u00e9tabli");
  });

  test.each(["", "   ", "../x", "a/b", "-x", "a\nb", "a\u001b[31m", "x".repeat(41), "__proto__"])(
    "refuses the name %j",
    async (name) => {
      await expect(rememberMat({ ...bench, name }, { folder })).rejects.toThrow(/name of the mat/);
    },
  );

  test("a name that is special to JavaScript is only a name", async () => {
    await rememberMat({ ...bench, name: "constructor" }, { folder });
    expect((await readRememberedMat("constructor", { folder })).acrossMm).toBe(149.6);
    await expect(readRememberedMat("toString", { folder })).rejects.toThrow(UsageError);
  });

  test("impossible readings are not kept", async () => {
    await expect(rememberMat({ ...bench, alongMm: 15 }, { folder })).rejects.toThrow(/centimetres/);
    expect(await listRememberedMats({ folder })).toEqual([]);
  });

  test("a damaged list is reported with its place and left alone", async () => {
    await rememberMat(bench, { folder });
    const file = join(folder, "mats.json");
    const good = JSON.parse(await readFile(file, "utf8")) as { mats: object[] };
    for (const bad of [
      "{",
      "[]",
      JSON.stringify({ ...good, schema: "other/1" }),
      JSON.stringify({ ...good, mats: [{ ...good.mats[0], paper: "a5" }] }),
      JSON.stringify({ ...good, mats: [{ ...good.mats[0], mat_across_mm: 15 }] }),
      JSON.stringify({ ...good, mats: [{ ...good.mats[0], mat_across_mm: "150" }] }),
      JSON.stringify({ ...good, mats: [{ ...good.mats[0], name: "\u001b[2J" }] }),
    ]) {
      await writeFile(file, bad);
      await expect(listRememberedMats({ folder }), bad).rejects.toThrow(InputError);
      await expect(readRememberedMat("bench mat", { folder })).rejects.toThrow(file);
      await expect(rememberMat(bench, { folder })).rejects.toThrow(/damaged/);
      expect(await readFile(file, "utf8")).toBe(bad);
    }
  });
});

describe("configFolder", () => {
  // XDG Base Directory Specification: absolute paths only; default $HOME/.config.
  test("follows XDG_CONFIG_HOME where it is absolute, else the platform", () => {
    expect(configFolder({ XDG_CONFIG_HOME: "/cfg" }, "linux", "/home/u")).toBe("/cfg/wheelsurvey");
    expect(configFolder({ XDG_CONFIG_HOME: "rel" }, "linux", "/home/u")).toBe("/home/u/.config/wheelsurvey");
    expect(configFolder({}, "linux", "/home/u")).toBe("/home/u/.config/wheelsurvey");
    expect(configFolder({}, "darwin", "/Users/u")).toBe("/Users/u/Library/Application Support/wheelsurvey");
    expect(configFolder({ APPDATA: "/data" }, "win32", "/u")).toBe("/data/wheelsurvey");
  });
});
