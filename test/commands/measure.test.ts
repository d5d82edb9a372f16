import { copyFile, link, mkdir, mkdtemp, readdir, readFile, rm, symlink, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Ajv2020 } from "ajv/dist/2020.js";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { measurementJsonSchema, readMeasurementDocument } from "../../src/record/index.js";
import { drawnWheel, drawWheel } from "../photo/drawn-wheel.js";
import { noisyJpeg, pngHeader } from "../photo/test-pictures.js";
import { call } from "./recorded-io.js";

let folder: string;
let wheel: string;
let blank: string;
let bad: Readonly<Record<"cut" | "bomb" | "words" | "empty", string>>;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "measure-"));
  wheel = join(folder, "wheel.png");
  blank = join(folder, "blank.png");
  bad = {
    cut: join(folder, "cut.jpg"),
    bomb: join(folder, "bomb.png"),
    words: join(folder, "words.jpg"),
    empty: join(folder, "empty.jpg"),
  };
  await drawWheel().png().toFile(wheel);
  await sharp({ create: { width: 400, height: 300, channels: 3, background: "#e8e6e0" } })
    .png()
    .toFile(blank);
  const jpeg = await noisyJpeg();
  await writeFile(bad.cut, jpeg.subarray(0, jpeg.length >> 1));
  await writeFile(bad.bomb, pngHeader(30_000, 30_000));
  await writeFile(bad.words, "no picture");
  await writeFile(bad.empty, "");
});
afterAll(() => rm(folder, { recursive: true }));

/** A folder of its own for a test. */
const newFolder = (name: string): Promise<string> => mkdtemp(join(folder, `${name}-`));

// Everything that a terminal obeys, but the line feed.
const obeyed = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/;

describe("what is printed", () => {
  test("a table with count, diameter and its expanded uncertainty", async () => {
    const { out, err, exitCode } = await call("measure", wheel, "--px-per-mm", "10");
    expect(exitCode).toBe(0);
    expect(err).toBe("");
    expect(out).toContain("wheel.png: scale given, 10.0 px/mm");
    const row = out.split("\n").find((line) => line.includes("part-1"))!;
    const cells = row.split("│").map((cell) => cell.trim());
    expect(cells[3]).toBe(String(drawnWheel.teeth));
    const [, tip, expanded] = /^(\d+\.\d+) ± (\d+\.\d+)$/.exec(cells[4]!)!;
    // Drawn: 36 mm across the tips.
    expect(Math.abs(Number(tip) - 36)).toBeLessThan(Number(expanded));
    expect(out).toContain("k = 2");
  });

  test("--json is one document of the schema that ships with the package", async () => {
    const { out, exitCode } = await call("measure", wheel, "--px-per-mm", "10", "--json");
    expect(exitCode).toBe(0);
    const json: unknown = JSON.parse(out);
    const check = new Ajv2020({ strict: false }).compile(measurementJsonSchema());
    expect(check(json), JSON.stringify(check.errors)).toBe(true);
    const document = readMeasurementDocument(json);
    expect(document.schema).toBe("wheelsurvey/measurement/1");
    expect(document.sets).toEqual([]);
    const [photo] = document.photos;
    expect(photo!.file).toBe(wheel);
    expect([photo!.width_px, photo!.height_px]).toEqual([drawnWheel.widthPx, drawnWheel.heightPx]);
    expect(photo!.parts[0]!.teeth!.count).toBe(drawnWheel.teeth);
    expect(photo!.settings).toEqual({ px_per_mm: 10 });
  });

  test("the same photograph twice is measured twice", async () => {
    const { out, exitCode } = await call("measure", wheel, wheel, "--json", "--workers", "1");
    expect(exitCode).toBe(0);
    const [first, second, ...more] = readMeasurementDocument(out).photos;
    expect(second).toEqual(first);
    expect(more).toEqual([]);
  });

  test("a folder stands for the pictures in it, counted up, without copies, hidden and other files", async () => {
    const pictures = await newFolder("pictures");
    for (const name of ["b10.jpg", "b9.PNG", ".hidden.jpg", "a-annotated.jpg", "notes.txt"])
      await writeFile(join(pictures, name), "no picture");
    await mkdir(join(pictures, "below.jpg"));
    const { out } = await call("measure", pictures, "--json", "--workers", "1");
    expect(readMeasurementDocument(out).photos.map(({ file }) => file)).toEqual([
      join(pictures, "b9.PNG"),
      join(pictures, "b10.jpg"),
      join(pictures, "below.jpg"),
    ]);
  });

  test("a height for a label that no part has is remarked on", async () => {
    const { err, exitCode } = await call("measure", wheel, "--px-per-mm", "10", "--face-height", "T9=1.6");
    expect(err).toContain("T9");
    expect(exitCode).toBe(0);
  });
});

describe("photographs that cannot be measured", () => {
  test("each is told with what to do, the good ones are measured, and the exit code is 3", async () => {
    const paths = [bad.cut, wheel, bad.bomb, bad.words, bad.empty, join(folder, "none.jpg"), blank];
    const { out, err, exitCode } = await call("measure", ...paths, "--json", "--workers", "1");
    expect(exitCode).toBe(3);
    expect(err).toBe("1 of 7 photographs measured\n");
    const { photos } = readMeasurementDocument(out);
    expect(
      photos.map(({ parts, problems }) => parts[0]?.teeth?.count ?? problems.map((p) => p.code)),
    ).toEqual([
      ["damaged-image"],
      drawnWheel.teeth,
      ["image-too-large"],
      ["not-an-image"],
      ["not-an-image"],
      ["file-unreadable"],
      ["no-part", "no-mat"],
    ]);
    for (const { problems } of photos) for (const { advice } of problems) expect(advice).not.toBe("");
  });

  test("the table tells a shared problem once, with all its places", async () => {
    const { out, exitCode } = await call("measure", bad.words, bad.bomb, bad.empty, wheel, "--workers", "1");
    expect(exitCode).toBe(3);
    expect(out).toContain("words.jpg: not read");
    expect(out).toContain("bomb.png: the picture is 30000 x 30000 px, 900 megapixels; expected at most 120");
    expect(out.match(/→ give a photograph as JPEG/g)!.length).toBe(2);
    expect(out).toContain("36");
  });

  test("names and contents cannot steer the terminal", async () => {
    const evil = join(folder, "\u001b[2J\u001b]0;title\u0007\u009b31m\u202egpj.\nforged line\r.jpg");
    const copy = join(folder, "\u001b[31mred.png");
    await writeFile(evil, "\u001b[2J no picture");
    await copyFile(wheel, copy);
    const table = await call("measure", evil, copy, "--workers", "1", "--face-height", "\u001b[5mX=2");
    const json = await call("measure", evil, copy, "--workers", "1", "--json");
    for (const { out, err, exitCode } of [table, json]) {
      expect(exitCode).toBe(3);
      expect(out).not.toMatch(obeyed);
      expect(err).not.toMatch(obeyed);
    }
    expect(
      table.out
        .split("\n")
        .filter((line) => line.includes("forged line"))
        .every((line) => line.includes("u{1b}")),
    ).toBe(true);
    expect(table.out).toContain("\\u{1b}[31mred.png");
    expect(readMeasurementDocument(json.out).photos.map(({ file }) => file)).toEqual([evil, copy]);
    const typed = await call("measure", wheel, "--px-per-mm", "\u001b[2J");
    expect(typed.exitCode).toBe(2);
    expect(typed.err).not.toMatch(obeyed);
  });

  test("a set of one photograph given twice, without a mat, is told so instead of a verdict", async () => {
    const { out, exitCode } = await call(
      "measure",
      wheel,
      wheel,
      "--set",
      "turn",
      "--json",
      "--workers",
      "1",
    );
    expect(exitCode).toBe(3);
    const { sets, photos } = readMeasurementDocument(out);
    expect(photos.length).toBe(2);
    expect(sets.length).toBe(1);
    expect(sets[0]!.kind).toBe("turn");
    expect(sets[0]!.verdict).toBe("cannot tell");
    expect(sets[0]!.problems!.map(({ code }) => code)).toEqual(["set-same-photo", "set-without-mat"]);
  });
});

describe("wrong calls", () => {
  test.each([
    [[], "photo"],
    [["--px-per-mm", "0"], "from 0.01 to 10000"],
    [["--px-per-mm", "-3"], "from 0.01 to 10000"],
    [["--px-per-mm", "1e999"], "Expected pixels per millimetre"],
    [["--px-per-mm", "NaN"], "Expected pixels per millimetre"],
    [["--px-per-mm", "12,4"], "decimal point"],
    [["--mat-across", "15"], "centimetres"],
    [["--mat-across", "5.9"], "inches"],
    [["--mat-along", "200"], "about 150 (A4, US Letter) or 250 (A3)"],
    [["--mat-across", "149", "--mat-along", "249"], "one sheet"],
    [["--mat", "bench", "--mat-across", "149"], "received both"],
    [["--scale", "0,0,100,0=50", "--px-per-mm", "2"], "received both"],
    [["--scale", "0,0,100,0"], "x1,y1,x2,y2=MM"],
    [["--scale", "0,0,100=50"], "x1,y1,x2,y2=MM"],
    [["--scale", "0,0,5,5=50"], "10 pixels apart"],
    [["--scale", "0,0,100,0=-50"], "above 0"],
    [["--face-height", "tall"], "a height above the mat"],
    [["--face-height", "T2=-1"], "from 0 to 300"],
    [["--face-height", "=2"], "label"],
    [["--face-height", "T2=1", "--face-height", "T2=2"], "one height for each label"],
    [["--face-height", "1", "--face-height", "2"], "LABEL=MM"],
    [["--set", "spin"], "turn, play, height"],
    [["--workers", "0"], "1 to 64"],
    [["--workers", "two"], "1 to 64"],
    [["--no-annotate"], "--out"],
    [["--colour"], "unknown option"],
  ])("%j is refused with exit code 2 and a hint", async (args, hint) => {
    const photos = args.length === 0 ? [] : [wheel];
    const { out, err, exitCode } = await call("measure", ...photos, ...args);
    expect(exitCode).toBe(2);
    expect(out).toBe("");
    expect(err).toContain(hint);
  });

  test("a folder without pictures is refused", async () => {
    const { err, exitCode } = await call("measure", await newFolder("empty"));
    expect(exitCode).toBe(2);
    expect(err).toContain("expected pictures in this folder");
  });

  test("several heights, each for its label, are understood", async () => {
    const args = ["--face-height", "1.5", "--face-height", "T2=2", "--face-height", "a=b=3", "--json"];
    const { out, exitCode } = await call("measure", wheel, ...args);
    expect(exitCode).toBe(0);
    expect(readMeasurementDocument(out).photos[0]!.settings!.face_heights_mm).toEqual([
      { height_mm: 1.5 },
      { label: "T2", height_mm: 2 },
      { label: "a=b", height_mm: 3 },
    ]);
  });
});

describe("--out", () => {
  test("writes an annotated copy of the same size and the document, and leaves the original", async () => {
    const out = join(await newFolder("out"), "new", "folder");
    const before = await readFile(wheel);
    const { exitCode, out: printed } = await call(
      "measure",
      wheel,
      bad.words,
      "--out",
      out,
      "--json",
      "--workers",
      "1",
    );
    expect(exitCode).toBe(3);
    expect((await readdir(out)).sort()).toEqual(["measurements.json", "wheel-annotated.jpg"]);
    expect(await readFile(join(out, "measurements.json"), "utf8")).toBe(printed);
    expect(await readFile(wheel)).toEqual(before);
    const copy = await readFile(join(out, "wheel-annotated.jpg"));
    const { width, height, exif, format } = await sharp(copy).metadata();
    expect([width, height, format, exif]).toEqual([
      drawnWheel.widthPx,
      drawnWheel.heightPx,
      "jpeg",
      undefined,
    ]);
    // Something was drawn: the copy differs from the photograph far beyond what JPEG does.
    const [a, b] = await Promise.all([wheel, copy].map((p) => sharp(p).removeAlpha().raw().toBuffer()));
    expect(a!.filter((level, i) => Math.abs(level - b![i]!) > 60).length).toBeGreaterThan(500);
  });

  test("a second run replaces its own copies, and nothing else", async () => {
    const out = await newFolder("again");
    const mine = join(out, "other-annotated.jpg");
    await writeFile(mine, "of the user");
    await call("measure", wheel, "--out", out);
    await call("measure", wheel, "--out", out);
    expect((await readdir(out)).sort()).toEqual([
      "measurements.json",
      "other-annotated.jpg",
      "wheel-annotated.jpg",
    ]);
    expect(await readFile(mine, "utf8")).toBe("of the user");
  });

  test("never writes over a file that was there before, an original, or through a link", async () => {
    const out = await newFolder("guarded");
    await writeFile(join(out, "wheel-annotated.jpg"), "of the user");
    await call("measure", wheel, "--out", out);
    expect(await readFile(join(out, "wheel-annotated.jpg"), "utf8")).toBe("of the user");
    expect(await readdir(out)).toContain("wheel-2-annotated.jpg");

    // From here on the folder is ours, and its copies may be replaced; these may not.
    const original = join(out, "a-annotated.jpg");
    const linked = join(out, "b-annotated.jpg");
    const hard = join(out, "c-annotated.jpg");
    const a = join(folder, "a.png");
    const b = join(folder, "b.png");
    const c = join(folder, "c.png");
    await drawWheel().jpeg().toFile(original);
    for (const path of [a, b, c]) await copyFile(wheel, path);
    await symlink(b, linked);
    await link(c, hard);
    const before = await Promise.all([original, a, b, c].map((path) => readFile(path)));
    const { exitCode } = await call("measure", a, b, c, original, "--out", out, "--workers", "1");
    expect(exitCode).toBe(0);
    expect(await Promise.all([original, a, b, c].map((path) => readFile(path)))).toEqual(before);
    expect(await readdir(out)).toEqual(
      expect.arrayContaining(["a-2-annotated.jpg", "b-2-annotated.jpg", "c-2-annotated.jpg"]),
    );
  });

  test("a measurements.json of something else is refused before anything is measured", async () => {
    const out = await newFolder("foreign");
    await writeFile(join(out, "measurements.json"), '{"schema": "other"}');
    const { err, exitCode, out: printed } = await call("measure", wheel, "--out", out);
    expect(exitCode).toBe(2);
    expect(err).toContain("not of this program");
    expect(printed).toBe("");
    expect(await readFile(join(out, "measurements.json"), "utf8")).toBe('{"schema": "other"}');
  });

  test("a file in the place of the folder is refused", async () => {
    const { err, exitCode } = await call("measure", wheel, "--out", bad.words);
    expect(exitCode).toBe(2);
    expect(err).toContain("cannot be made");
  });

  test("photographs of one name do not overwrite each other, and odd names are tamed", async () => {
    const out = await newFolder("names");
    const other = await newFolder("other");
    const again = join(other, "wheel.png");
    const odd = join(other, "..\u001b[31m $(touch x);`é\u0301|*?.png");
    await copyFile(wheel, again);
    await copyFile(wheel, odd);
    const { exitCode } = await call("measure", wheel, again, odd, wheel, "--out", out, "--workers", "1");
    expect(exitCode).toBe(0);
    const names = (await readdir(out)).sort();
    expect(names.length).toBe(4);
    expect(names).toEqual(expect.arrayContaining(["wheel-annotated.jpg", "wheel-2-annotated.jpg"]));
    for (const name of names) expect(name).toMatch(/^[\p{L}\p{M}\p{N}_][\p{L}\p{M}\p{N} ._-]*$/u);
  });

  test("--no-annotate writes the document only", async () => {
    const out = await newFolder("plain");
    await call("measure", wheel, "--out", out, "--no-annotate");
    expect(await readdir(out)).toEqual(["measurements.json"]);
  });
});
