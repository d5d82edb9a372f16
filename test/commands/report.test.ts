import { spawn } from "node:child_process";
import { createHash } from "node:crypto";
import { once } from "node:events";
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { Writable } from "node:stream";
import sharp from "sharp";
import { afterAll, beforeEach, describe, expect, test, vi } from "vitest";
import { runReport, type ReportOptions } from "../../src/commands/report-run.js";
import { readCheckSumLine } from "../../src/commands/report-check-sums.js";
import { reasonOf, removePartials, writeWhole } from "../../src/commands/report-write.js";
import { runVerify } from "../../src/commands/report-verify.js";
import { compareRecords } from "../../src/report/index.js";
import { readMeasurementDocument, readSurveyDocument, recordPhoto } from "../../src/record/index.js";
import { inventedPart, inventedPhoto, inventedView } from "../record/invented-part.js";
import { call } from "./recorded-io.js";

// Several whole runs in a test, on a machine that may do other things besides.
vi.setConfig({ testTimeout: 240_000 });

const root = mkdtempSync(join(tmpdir(), "report-command-"));
afterAll(() => rmSync(root, { recursive: true, force: true }));

let folder: string;
let count = 0;
/** Small pictures without a part: quick to measure, which is not what is tested here. */
async function picture(name: string, colour: string): Promise<void> {
  const data = await sharp({ create: { width: 120, height: 90, channels: 3, background: colour } })
    .jpeg()
    .toBuffer();
  writeFileSync(join(folder, "photos", name), data);
}
beforeEach(async () => {
  folder = join(root, `survey-${count++}`);
  mkdirSync(join(folder, "photos"), { recursive: true });
  await picture("one.jpg", "#b08030");
  await picture("two.jpg", "#808080");
});

async function report(
  options: ReportOptions = {},
): Promise<{ out: string; err: string; code: number | undefined }> {
  const said = { out: "", err: "" };
  let code: number | undefined;
  const stream = (key: "out" | "err") =>
    new Writable({
      write: (chunk: Buffer, _, done) => {
        said[key] += String(chunk);
        done();
      },
    });
  await runReport(
    folder,
    { workers: 1, ...options },
    {
      stdout: stream("out"),
      stderr: stream("err"),
      setExitCode: (c) => (code = c),
    },
  );
  return { ...said, code };
}
async function verify(path: string): Promise<{ out: string; code: number | undefined }> {
  let out = "";
  let code: number | undefined;
  const sink = new Writable({ write: (_, __, done) => done() });
  const stdout = new Writable({
    write: (chunk: Buffer, _, done) => {
      out += String(chunk);
      done();
    },
  });
  await runVerify(path, {}, { stdout, stderr: sink, setExitCode: (c) => (code = c) });
  return { out, code };
}
const sha256 = (path: string): string => createHash("sha256").update(readFileSync(path)).digest("hex");
const made = (name: string): string => join(folder, "report", name);

/** Every line of the list against the file that it names, by a reader of this test's own. */
function checkSumsHold(): number {
  const lines = readFileSync(made("SHA256SUMS"), "utf8").trimEnd().split("\n");
  for (const line of lines) {
    const [sum, name] = [line.slice(0, 64), line.slice(66)];
    expect(sha256(resolve(folder, "report", name)), name).toBe(sum);
  }
  return lines.length;
}

describe("report", () => {
  test("writes all of its files, with check-sums of them and of the photographs", async () => {
    const { out, code } = await report();
    // No part in either: 3, as for measure.
    expect(code).toBe(3);
    expect(out).toBe(`${made("report.html")}\n${made("report.pdf")}\n`);
    expect(readdirSync(made("")).sort()).toEqual([
      "SHA256SUMS",
      "measurements.csv",
      "report.html",
      "report.pdf",
      "survey.json",
    ]);
    expect(checkSumsHold()).toBe(6);
    expect(
      readSurveyDocument(readFileSync(made("survey.json"), "utf8")).measurement.photos.map((p) => p.file),
    ).toEqual(["photos/one.jpg", "photos/two.jpg"]);
    expect(readFileSync(made("report.pdf")).subarray(0, 5).toString()).toBe("%PDF-");
  });

  test("measures again only what changed: photograph, or settings", async () => {
    await report();
    expect((await report()).err).toMatch(/2 of 2 photographs are unchanged/);
    await picture("two.jpg", "#909090");
    expect((await report()).err).toMatch(/1 of 2 photographs are unchanged/);
    await picture("three.jpg", "#909090");
    // The same picture under another name has been measured already.
    expect((await report()).err).toMatch(/3 of 3 photographs are unchanged/);
    writeFileSync(join(folder, "survey.yaml"), "scale: { across: 149.7 mm, along: 150.2 mm }\n");
    expect((await report()).err).not.toMatch(/unchanged/);
    expect((await report()).err).toMatch(/3 of 3 photographs are unchanged/);
    expect((await report({ fresh: true })).err).not.toMatch(/unchanged/);
  });

  test("a spoilt result is measured again instead of being believed", async () => {
    await report();
    const results = join(folder, "results");
    const names = readdirSync(results);
    expect(names).toHaveLength(2);
    writeFileSync(join(results, names[0]!), readFileSync(join(results, names[0]!)).subarray(0, 100));
    expect((await report()).err).toMatch(/1 of 2 photographs are unchanged/);
  });

  test("a file that is no photograph is named in the report, with its check-sum", async () => {
    writeFileSync(join(folder, "photos", "notes.jpg"), "hello");
    await report();
    expect(readFileSync(made("report.html"), "utf8")).toContain("could not be read");
    const sum = createHash("sha256").update("hello").digest("hex");
    expect(readFileSync(made("SHA256SUMS"), "utf8")).toContain(`${sum}  ../photos/notes.jpg`);
    expect(checkSumsHold()).toBe(7);
  });

  test("says what is missing: folder, photos, pictures", async () => {
    await expect(runReport(join(root, "nowhere"), {}, {} as never)).rejects.toThrow(
      /expected a survey folder/,
    );
    rmSync(join(folder, "photos", "one.jpg"));
    rmSync(join(folder, "photos", "two.jpg"));
    await expect(report()).rejects.toThrow(/expected pictures in this folder/);
    rmSync(join(folder, "photos"), { recursive: true });
    await expect(report()).rejects.toThrow(/expected a folder photos\/ in it/);
  });

  test("names of files and arbors that mean harm are only names", async () => {
    const names = [
      "<img src=x onerror=alert(1)>.jpg",
      "=HYPERLINK(1).jpg",
      "line\nbreak.jpg",
      "\u202Egpj.jpg",
      "a%2f..%2f..%2fetc.jpg",
      "🕰️ 'a' \"b\" $(x) `y`.jpg",
      `${"long".repeat(50)}.jpg`,
    ];
    for (const [i, name] of names.entries()) await picture(name, `#${i}0${i}0${i}0`);
    writeFileSync(join(folder, "survey.yaml"), "trains: movement.yaml\n");
    const wild = `</svg><script>1</script>"'&=\\u202E`;
    writeFileSync(
      join(folder, "movement.yaml"),
      `trains:\n  time:\n    arbors:\n      ${JSON.stringify(wild)}: { wheel: 96 }\n      ${JSON.stringify("W".repeat(80))}: { pinion: ?, wheel: 64, hand: minute }\n`,
    );
    await report();
    const html = readFileSync(made("report.html"), "utf8");
    expect(html).not.toMatch(/<img|<script/i);
    expect(html.match(/<svg/g)).toHaveLength(html.match(/<\/svg>/g)!.length);
    expect(html).toContain("&lt;img src=x onerror=alert(1)");
    expect(html).toContain("⟨U+202E⟩gpj.jpg");
    expect(readFileSync(made("report.pdf"), "latin1")).toMatch(/%%EOF\s*$/);
    for (const cell of readFileSync(made("measurements.csv"), "utf8").split(/[,\r\n]+/))
      expect(cell).not.toMatch(/^=/);
    // Nine photographs and the four files of the report, each found again by its name.
    const { code, out } = await verify(made(""));
    expect(code).toBe(0);
    expect(out.match(/^unchanged /gm)).toHaveLength(13);
  });

  test("says nothing of place and serial numbers, unless it is asked to", async () => {
    const secret = await sharp({ create: { width: 120, height: 90, channels: 3, background: "#806020" } })
      .withMetadata({
        exif: {
          IFD0: { Make: "Invented" },
          IFD2: { BodySerialNumber: "SN-12345" },
          // 51° 30' N, 7° 15' W
          IFD3: {
            GPSLatitudeRef: "N",
            GPSLatitude: "51/1 30/1 0/1",
            GPSLongitudeRef: "W",
            GPSLongitude: "7/1 15/1 0/1",
          },
        },
      })
      .jpeg()
      .toBuffer();
    writeFileSync(join(folder, "photos", "one.jpg"), secret);
    const found = (): boolean[] =>
      readdirSync(join(folder, "report")).map((name) =>
        /SN-12345|51\.5|7\.25/.test(readFileSync(made(name), "latin1").replace(/base64,[^"]*/g, "")),
      );
    await report();
    expect(found()).not.toContain(true);
    await report({ privateData: true });
    const html = readFileSync(made("report.html"), "utf8");
    expect(html).toContain("SN-12345");
    expect(html).toContain("51.50000°, \u22127.25000°");
  });

  test("reads the movement file of the folder, and none outside it", async () => {
    const yaml =
      "trains:\n  time:\n    arbors:\n      great: { wheel: 96 }\n      centre: { pinion: 8, wheel: 64, hand: minute }\n      third: { pinion: 8, wheel: 60 }\n      escape: { pinion: 8, escape wheel: 30 }\n";
    writeFileSync(join(folder, "movement.yaml"), yaml);
    writeFileSync(join(folder, "survey.yaml"), "trains: movement.yaml\n");
    await report();
    // 64/8 x 60/8 x 30 x 2 beats while the minute hand turns once.
    expect(readFileSync(made("report.html"), "utf8")).toMatch(/Beats an hour<\/dt><dd>3600</);
    for (const path of ["../movement.yaml", "/etc/passwd", "photos/../../x.yaml"]) {
      writeFileSync(join(folder, "survey.yaml"), `trains: ${path}\n`);
      await expect(report()).rejects.toThrow(/expected a file in the survey folder/);
    }
  });

  test("never writes over what it did not write", async () => {
    mkdirSync(made(""));
    writeFileSync(made("report.html"), "somebody's own");
    await expect(report()).rejects.toThrow(/not of this program/);
    expect(readFileSync(made("report.html"), "utf8")).toBe("somebody's own");
    rmSync(made("report.html"));
    writeFileSync(made("survey.json"), "{}");
    await expect(report()).rejects.toThrow(/not of this program/);
  });

  test("a place that can't be written to gives a clear line, and leaves no crumbs", async () => {
    writeFileSync(join(folder, "file"), "");
    await expect(report({ out: join(folder, "file") })).rejects.toThrow(/something else has that name/);
    mkdirSync(join(folder, "taken", "report.html"), { recursive: true });
    await expect(writeWhole(join(folder, "taken", "report.html"), "x")).rejects.toThrow(
      /cannot be written: something else/,
    );
    expect(readdirSync(join(folder, "taken"))).toEqual(["report.html"]);
    const error = (code: string) => Object.assign(new Error(code), { code });
    expect(reasonOf(error("ENOSPC"))).toMatch(/disk is full.*measured already is kept/);
    expect(reasonOf(error("EROFS"))).toMatch(/read-only.*--out/);
    expect(reasonOf(error("EACCES"))).toMatch(/may not write there/);
  });

  // A tiny disk of its own needs the rights of root, as on CI; elsewhere the line above must do.
  test.skipIf(process.getuid?.() !== 0)(
    "a full disk: a clear line, and the old report stays whole",
    async ({ skip }) => {
      const disk = join(root, "disk");
      mkdirSync(disk, { recursive: true });
      const mount = spawn("mount", ["-t", "tmpfs", "-o", "size=128k", "tmpfs", disk], { stdio: "ignore" });
      const [code] = (await once(mount, "exit").catch(() => [1])) as [number];
      if (code !== 0) return skip();
      try {
        writeFileSync(join(disk, "survey.json"), '{"schema": "wheelsurvey/survey/1"}');
        await expect(report({ out: disk })).rejects.toThrow(/the disk is full; make room and call again/);
        expect(readdirSync(disk).filter((name) => name.endsWith(".partial"))).toEqual([]);
      } finally {
        await once(spawn("umount", [disk], { stdio: "ignore" }), "exit");
      }
    },
  );

  // As above: a disk that may be mounted read-only.
  test.skipIf(process.getuid?.() !== 0)(
    "photographs on a read-only disk: a clear line, and a report elsewhere",
    async ({ skip }) => {
      const disk = join(root, "read-only");
      mkdirSync(disk, { recursive: true });
      const run = async (program: string, ...args: string[]): Promise<number> => {
        const [code] = (await once(spawn(program, args, { stdio: "ignore" }), "exit").catch(() => [1])) as [
          number,
        ];
        return code;
      };
      if ((await run("mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", disk)) !== 0) return skip();
      try {
        cpSync(join(folder, "photos"), join(disk, "photos"), { recursive: true });
        if ((await run("mount", "-o", "remount,ro", disk)) !== 0) return skip();
        const elsewhere = join(root, "elsewhere");
        folder = disk;
        await expect(report()).rejects.toThrow(
          /report: the folder cannot be made: the disk is read-only; name another folder with --out/,
        );
        await report({ out: elsewhere });
        expect((await verify(elsewhere)).code).toBe(0);
      } finally {
        await run("umount", disk);
      }
    },
  );

  test("half-written files of killed runs are cleared away, those of running ones are not", async () => {
    mkdirSync(made(""));
    // 2^22 is above the largest process number that Linux gives.
    writeFileSync(made(".report.html.4194304.partial"), "x");
    writeFileSync(made(`.report.html.${process.ppid}.partial`), "x");
    await removePartials(made(""));
    expect(readdirSync(made(""))).toEqual([`.report.html.${process.ppid}.partial`]);
  });
});

describe("killed", () => {
  test("at any moment, 30 times: files are whole, and the next run finishes", async () => {
    const tsx = createRequire(import.meta.url).resolve("tsx/package.json");
    const loader = join(dirname(tsx), "dist", "loader.mjs");
    const script = fileURLToPath(new URL("report-run-child.ts", import.meta.url));
    let seed = 7;
    const random = (): number => (seed = (seed * 16807) % 2147483647) / 2147483647;
    let duration = 1500;
    let killedInside = 0;
    for (let i = 0; i < 30; i++) {
      // A new picture each time, so that there is something to measure and to write.
      await picture(`extra-${i % 4}.jpg`, `#${(0x102030 + i * 7).toString(16)}`);
      const child = spawn(process.execPath, ["--import", loader, script, folder], {
        stdio: ["ignore", "pipe", "ignore"],
      });
      const exit = once(child, "exit");
      await Promise.race([once(child.stdout, "data"), exit]);
      const started = Date.now();
      const timer = setTimeout(() => child.kill("SIGKILL"), random() * duration);
      await exit;
      clearTimeout(timer);
      if (child.signalCode === "SIGKILL") killedInside++;
      else duration = Math.max(200, Date.now() - started);
      filesAreWhole();
    }
    // Most must have been struck down before their end, or nothing was tested.
    expect(killedInside).toBeGreaterThan(12);
    const { code } = await report();
    expect(code).toBe(3);
    expect(checkSumsHold()).toBeGreaterThan(8);
    expect(readdirSync(made("")).filter((name) => name.endsWith(".partial"))).toEqual([]);
    expect((await verify(made(""))).code).toBe(0);
  }, 600_000);

  /** Whatever stands there under its own name is whole. */
  function filesAreWhole(): void {
    const results = join(folder, "results");
    for (const name of existsSync(results) ? readdirSync(results) : [])
      if (name.endsWith(".json")) readMeasurementDocument(readFileSync(join(results, name), "utf8"), name);
    if (existsSync(made("survey.json"))) readSurveyDocument(readFileSync(made("survey.json"), "utf8"));
    if (existsSync(made("report.html")))
      expect(readFileSync(made("report.html"), "utf8")).toMatch(/<\/html>\s*$/);
    if (existsSync(made("report.pdf")))
      expect(readFileSync(made("report.pdf"), "latin1")).toMatch(/%%EOF\s*$/);
    if (existsSync(made("measurements.csv")))
      expect(statSync(made("measurements.csv")).size).toBeGreaterThan(50);
  }
});

describe("verify", () => {
  test("tells what is unchanged, changed and missing", async () => {
    await report();
    const good = await verify(made(""));
    expect(good.code).toBe(0);
    expect(good.out.match(/^unchanged /gm)).toHaveLength(6);
    writeFileSync(made("measurements.csv"), "1");
    rmSync(join(folder, "photos", "two.jpg"));
    const bad = await verify(made(""));
    expect(bad.code).toBe(3);
    expect(bad.out).toMatch(/^changed +measurements\.csv$/m);
    expect(bad.out).toMatch(/^missing +\.\.\/photos\/two\.jpg$/m);
  });

  test("is a command of its own, and says how much matches", async () => {
    await report();
    expect((await call("--help")).out).toMatch(/^ +verify /m);
    const good = await call("verify", made(""));
    expect(good).toMatchObject({ exitCode: 0, err: "All 6 files match the report.\n" });
    writeFileSync(made("report.html"), "<p>another</p>");
    const bad = await call("verify", made(""));
    expect(bad).toMatchObject({ exitCode: 3, err: "1 of 6 files do not match the report.\n" });
    expect(await call("verify", join(folder, "none"))).toMatchObject({ exitCode: 2, out: "" });
  });

  test("a photograph that was struck off the list is missed", async () => {
    await report();
    const list = readFileSync(made("SHA256SUMS"), "utf8");
    writeFileSync(made("SHA256SUMS"), list.replace(/^.*two\.jpg\n/m, ""));
    const { out, code } = await verify(made(""));
    expect(code).toBe(3);
    expect(out).toMatch(/^not listed photos\/two\.jpg$/m);
  });

  test("says so when the folder holds no report", async () => {
    await expect(verify(folder)).rejects.toThrow(/expected the folder that "report" wrote/);
  });

  // Source: the format of GNU coreutils' sha256sum: a name with a line feed or backslash is escaped and marked.
  test("reads names with line feeds as sha256sum writes them", () => {
    const sum = "a".repeat(64);
    expect(readCheckSumLine(`${sum}  plain.jpg`)).toEqual({ sha256: sum, name: "plain.jpg" });
    expect(readCheckSumLine(`\\${sum}  a\\nb\\\\c`)).toEqual({ sha256: sum, name: "a\nb\\c" });
    expect(readCheckSumLine("no sum")).toBeUndefined();
  });

  test("two measurements differ only beyond their uncertainties", () => {
    const wheel = { id: "W1", count: 64, moduleMm: 0.6, centrePx: [1200, 1400] } as const;
    const record = (change: Partial<Parameters<typeof inventedPart>[0]> = {}) =>
      recordPhoto(inventedPhoto(), inventedView, [inventedPart({ ...wheel, ...change })], [], {});
    expect(compareRecords(record(), record())).toEqual([]);
    // Module 0.600 with standard uncertainty 0.0009 mm: 0.0005 more is nothing, 0.006 more is a difference.
    expect(compareRecords(record(), record({ moduleMm: 0.6005 }))).toEqual([]);
    const texts = compareRecords(record(), record({ moduleMm: 0.606 })).map((d) => d.text);
    expect(
      texts.filter((t) => /^module 0\.6000 ± 0\.001\d mm before, 0\.6060 ± 0\.001\d mm now$/.test(t)),
    ).toHaveLength(1);
    expect(compareRecords(record(), record({ count: 65 })).map((d) => d.text)).toContain(
      "64 teeth before, 65 teeth now",
    );
    expect(compareRecords(record(), record({ centrePx: [2400, 1400] })).map((d) => d.text)).toEqual([
      "was found, is not found now",
      "is found now, was not found",
    ]);
  });
});
