import { execFileSync } from "node:child_process";
import { mkdir, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import sharp from "sharp";
import type { Sharp } from "sharp";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { readPhoto, readPhotoBytes } from "../../src/photo/index.js";
import type { Photo, ReadPhotoOptions } from "../../src/photo/index.js";
import { corners, noisyJpeg, pngHeader, quarters } from "./test-pictures.js";
import type { Rgb } from "./test-pictures.js";

const photoOf = async (bytes: Uint8Array, options?: ReadPhotoOptions): Promise<Photo> => {
  const outcome = await readPhotoBytes(bytes, "x", options);
  if (!outcome.ok) throw new Error(`${outcome.problem.code}: ${outcome.problem.text}`);
  return outcome.value;
};

const problemOf = async (bytes: Uint8Array, options?: ReadPhotoOptions): Promise<string> => {
  const outcome = await readPhotoBytes(bytes, "x", options);
  if (outcome.ok) return "no problem";
  expect(outcome.problem.text).not.toBe("");
  expect(outcome.problem.advice).not.toBe("");
  return outcome.problem.code;
};

const pixel = (photo: Photo, x: number, y: number): number[] => {
  const at = 3 * (y * photo.widthPx + x);
  return [...photo.rgb.subarray(at, at + 3)];
};

/** Largest difference of any channel from what was drawn. */
const colourError = (seen: readonly number[], drawn: Rgb): number =>
  Math.max(...drawn.map((c, i) => Math.abs(c - seen[i]!)));

/** The picture of `quarters`, upright; `tolerance` in 8-bit steps, for what the coding itself changes. */
function expectQuarters(photo: Photo, tolerance: number): void {
  expect([photo.widthPx, photo.heightPx]).toEqual([96, 64]);
  expect(photo.rgb.length).toBe(96 * 64 * 3);
  expect(colourError(pixel(photo, 20, 15), corners.topLeft)).toBeLessThanOrEqual(tolerance);
  expect(colourError(pixel(photo, 75, 15), corners.topRight)).toBeLessThanOrEqual(tolerance);
  expect(colourError(pixel(photo, 20, 50), corners.bottomLeft)).toBeLessThanOrEqual(tolerance);
  expect(colourError(pixel(photo, 75, 50), corners.bottomRight)).toBeLessThanOrEqual(tolerance);
}

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "photo-"));
});
afterAll(() => rm(folder, { recursive: true }));

describe("formats", () => {
  // Lossless formats must be exact; the others at quality 95 stay within a few steps on flat colour.
  test.each([
    ["png", () => quarters().png().toBuffer(), 0],
    ["tiff", () => quarters().tiff({ compression: "lzw" }).toBuffer(), 0],
    ["webp", () => quarters().webp({ lossless: true }).toBuffer(), 0],
    ["jpeg", () => quarters().jpeg({ quality: 95, chromaSubsampling: "4:4:4" }).toBuffer(), 4],
  ] as const)("reads %s and tells it by its content", async (format, make, tolerance) => {
    const photo = await photoOf(await make());
    expect(photo.format).toBe(format);
    expectQuarters(photo, tolerance);
  });

  test("reads a HEIC from a phone: turned once, wide gamut converted, camera data kept, place left out", async () => {
    // Made by make-turned-phone.ts: both irot and EXIF ask for a quarter turn; stored colours are Display P3,
    // where the red quarter is (191, 53, 43).
    const photo = await photoOf(await readFile(new URL("turned-phone.heic", import.meta.url)));
    expect(photo.format).toBe("heic");
    expectQuarters(photo, 4);
    expect(photo.cameraData).toEqual({
      make: "Invented",
      model: "Test camera",
      focalLengthMm: 4.25,
      focalLength35mm: 26,
      orientation: 6,
      capturedAt: "2024-05-06T07:08:09",
    });
  });

  test("reads HEIC pictures side by side and leaves the console as it was", async () => {
    const { log } = console;
    const bytes = await readFile(new URL("turned-phone.heic", import.meta.url));
    const cut = bytes.subarray(0, 1200);
    const codes = await Promise.all([bytes, cut, bytes, cut].map((b) => problemOf(b)));
    expect(codes).toEqual(["no problem", "damaged-image", "no problem", "damaged-image"]);
    expect(console.log).toBe(log);
  });

  test("says nothing on stdout while a damaged HEIC is read", async () => {
    const script = `import { readPhoto } from "./src/photo/index.ts";
      readPhoto(process.argv[1]).then((o) => process.stdout.write(o.ok ? "ok" : o.problem.code));`;
    const cut = join(folder, "cut.heic");
    const whole = await readFile(new URL("turned-phone.heic", import.meta.url));
    await writeFile(cut, whole.subarray(0, 1200));
    const args = ["--import", "tsx", "--input-type=module", "-e", script, cut];
    expect(execFileSync(process.execPath, args, { encoding: "utf8" })).toBe("damaged-image");
  });

  test("turns all eight EXIF orientations upright", async () => {
    // What each orientation's viewer must do, undone here (EXIF 2.3, tag 274).
    // Steps, each on its own, because sharp turns and mirrors in an order of its own.
    const stored: readonly (readonly ((picture: Sharp) => Sharp)[])[] = [
      [],
      [(p) => p.flop()],
      [(p) => p.rotate(180)],
      [(p) => p.flip()],
      [(p) => p.rotate(-90), (p) => p.flip()],
      [(p) => p.rotate(-90)],
      [(p) => p.rotate(90), (p) => p.flip()],
      [(p) => p.rotate(90)],
    ];
    const upright = await quarters().png().toBuffer();
    let ran = 0;
    for (const [i, steps] of stored.entries()) {
      let turned = upright;
      for (const step of steps) turned = await step(sharp(turned)).png().toBuffer();
      const jpeg = sharp(turned).withMetadata({ orientation: i + 1 });
      expectQuarters(
        await photoOf(await jpeg.jpeg({ quality: 95, chromaSubsampling: "4:4:4" }).toBuffer()),
        4,
      );
      ran++;
    }
    expect(ran).toBe(8);
  });

  test("converts grey, 16 bit, palette, CMYK and Display P3 to 8-bit sRGB", async () => {
    const flat = (r: number, g: number, b: number): Sharp =>
      sharp({ create: { width: 8, height: 8, channels: 3, background: { r, g, b } } });
    const seen = async (bytes: Buffer): Promise<number[]> => pixel(await photoOf(bytes), 4, 4);
    expect(await seen(await flat(90, 90, 90).toColourspace("b-w").png().toBuffer())).toEqual([90, 90, 90]);
    expect(await seen(await flat(200, 100, 50).toColourspace("rgb16").png().toBuffer())).toEqual([
      200, 100, 50,
    ]);
    expect(await seen(await flat(200, 100, 50).png({ palette: true }).toBuffer())).toEqual([200, 100, 50]);
    const wide = await seen(await flat(200, 100, 50).withIccProfile("p3").png().toBuffer());
    expect(colourError(wide, [200, 100, 50])).toBeLessThanOrEqual(2);
    // Ink and back is lossy by nature: brass must still be brass.
    const ink = await seen(await flat(200, 150, 90).toColourspace("cmyk").tiff().toBuffer());
    expect(colourError(ink, [200, 150, 90])).toBeLessThanOrEqual(12);
  });

  test("puts transparent pictures on white", async () => {
    const half = { r: 200, g: 100, b: 0, alpha: 0.5 };
    const png = await sharp({ create: { width: 8, height: 8, channels: 4, background: half } })
      .png()
      .toBuffer();
    // 0.5 is stored as 128/255: 255 - (255 - c) 128/255.
    expect(colourError(pixel(await photoOf(png), 4, 4), [227, 177, 127])).toBeLessThanOrEqual(1);
  });

  test("takes the first frame of an animated WebP and the first page of a TIFF", async () => {
    const red = await sharp({ create: { width: 16, height: 16, channels: 3, background: "#d02020" } })
      .png()
      .toBuffer();
    const blue = await sharp({ create: { width: 16, height: 16, channels: 3, background: "#2020d0" } })
      .png()
      .toBuffer();
    const join = { join: { animated: true } } as const;
    const webp = await sharp([red, blue], join).webp({ lossless: true }).toBuffer();
    const tiff = await sharp([red, blue], join).tiff({ compression: "none" }).toBuffer();
    expect((await sharp(webp).metadata()).pages).toBe(2);
    expect((await sharp(tiff).metadata()).pages).toBe(2);
    for (const bytes of [webp, tiff]) {
      const photo = await photoOf(bytes);
      expect([photo.widthPx, photo.heightPx]).toEqual([16, 16]);
      expect(colourError(pixel(photo, 8, 8), [208, 32, 32])).toBeLessThanOrEqual(1);
    }
  });
});

describe("what is kept of a file", () => {
  test("hashes the untouched bytes, whatever follows the picture", async () => {
    const bytes = Buffer.concat([await quarters().jpeg().toBuffer(), Buffer.from("trailing words")]);
    const path = join(folder, "trailing.jpg");
    await writeFile(path, bytes);
    const outcome = await readPhoto(path);
    if (!outcome.ok) throw new Error(outcome.problem.text);
    // Another program's digest: coreutils.
    expect(outcome.value.sha256).toBe(execFileSync("sha256sum", [path], { encoding: "utf8" }).slice(0, 64));
    expect(outcome.value.byteCount).toBe(bytes.length);
    expect(outcome.value.file).toBe(path);
    expect(await readFile(path)).toEqual(bytes);
  });

  test("cleans camera names of escape sequences and drops unknown or impossible values", async () => {
    const jpeg = await quarters()
      .withExif({
        IFD0: { Make: "In\u001b[31mvented\u0007", Model: "   " },
        IFD2: { FocalLength: "0/1", FocalLengthIn35mmFilm: "0", DateTimeOriginal: "2024:02:30 10:00:00" },
      })
      .jpeg()
      .toBuffer();
    expect((await photoOf(jpeg)).cameraData).toEqual({
      make: "In[31mvented",
      orientation: 1,
    });
  });

  test("reads camera data of PNG and WebP files too", async () => {
    const exif = { IFD0: { Make: "Invented" }, IFD2: { FocalLength: "50/1" } };
    for (const picture of [quarters().withExif(exif).png(), quarters().withExif(exif).webp()])
      expect((await photoOf(await picture.toBuffer())).cameraData).toEqual({
        make: "Invented",
        focalLengthMm: 50,
        orientation: 1,
      });
  });

  test("measures on when the EXIF block is rubbish", async () => {
    const jpeg = await quarters().jpeg().toBuffer();
    const rubbish = Buffer.from("Exif\0\0MM\0*\xff\xff\xff\xf0 and so on", "latin1");
    const segment = Buffer.from([0xff, 0xe1, 0, rubbish.length + 2]);
    const spoilt = Buffer.concat([jpeg.subarray(0, 2), segment, rubbish, jpeg.subarray(2)]);
    expect((await photoOf(spoilt)).cameraData).toEqual({});
  });
});

describe("bad files", () => {
  test("a JPEG cut short is damaged, not half a grey picture", async () => {
    const jpeg = await noisyJpeg();
    let ran = 0;
    for (const share of [0.1, 0.5, 0.9, 0.99]) {
      expect(await problemOf(jpeg.subarray(0, Math.floor(jpeg.length * share)))).toBe("damaged-image");
      ran++;
    }
    expect(ran).toBe(4);
  });

  test("a JPEG that lost a piece from its middle is damaged", async () => {
    const jpeg = await noisyJpeg();
    const middle = jpeg.length >> 1;
    expect(await problemOf(Buffer.concat([jpeg.subarray(0, middle), jpeg.subarray(middle + 4000)]))).toBe(
      "damaged-image",
    );
  });

  test("a JPEG with the harmless slip that some cameras make is read", async () => {
    const jpeg = Buffer.from(await quarters().jpeg({ quality: 95 }).toBuffer());
    const scan = jpeg.indexOf(Buffer.from([0xff, 0xda]));
    // Se of a sequential scan must be 63 (ITU-T T.81, B.2.3); these cameras write 0.
    const endOfSpectrum = scan + 5 + 2 * jpeg[scan + 4]! + 1;
    expect(jpeg[endOfSpectrum]).toBe(63);
    jpeg[endOfSpectrum] = 0;
    expect(await problemOf(jpeg)).toBe("no problem");
  });

  test("PNG, WebP, TIFF and HEIC cut short are damaged", async () => {
    const whole = [
      await sharp(await noisyJpeg())
        .png()
        .toBuffer(),
      await sharp(await noisyJpeg())
        .webp()
        .toBuffer(),
      await sharp(await noisyJpeg())
        .tiff({ compression: "none" })
        .toBuffer(),
      await readFile(new URL("turned-phone.heic", import.meta.url)),
    ];
    const codes = await Promise.all(whole.map((bytes) => problemOf(bytes.subarray(0, bytes.length * 0.6))));
    expect(codes).toEqual(whole.map(() => "damaged-image"));
  });

  test("a header of 30,000 x 30,000 px is refused before any pixel is decoded", async () => {
    const bomb = pngHeader(30_000, 30_000);
    expect(await problemOf(bomb)).toBe("image-too-large");
    const outcome = await readPhotoBytes(bomb, "x");
    expect(outcome.ok || outcome.problem.text).toContain("30000 x 30000 px, 900 megapixels");
  });

  test("the pixel limit counts pixels, not sides", async () => {
    expect(await problemOf(pngHeader(120_001, 1000))).toBe("image-too-large");
    // Within the limit it is looked at, and found to have no data.
    expect(await problemOf(pngHeader(120_000, 1000))).toBe("damaged-image");
    const heic = await readFile(new URL("turned-phone.heic", import.meta.url));
    expect(await problemOf(heic, { maxPixelCount: 96 * 64 - 1 })).toBe("image-too-large");
    expect(await problemOf(heic, { maxPixelCount: 96 * 64 })).toBe("no problem");
  });

  test("text named .jpg is no picture", async () => {
    const path = join(folder, "words.jpg");
    await writeFile(path, "Dear clock, ...");
    const outcome = await readPhoto(path);
    expect(outcome.ok ? "ok" : outcome.problem.code).toBe("not-an-image");
  });

  test("a JPEG beginning and nothing sensible after it is damaged", async () => {
    expect(await problemOf(Buffer.from("\xff\xd8\xffand then words", "latin1"))).toBe("damaged-image");
  });

  test("an empty file is no picture and says so", async () => {
    const outcome = await readPhotoBytes(new Uint8Array(0), "x");
    expect(outcome.ok || [outcome.problem.code, outcome.problem.text]).toEqual([
      "not-an-image",
      "the file is empty",
    ]);
  });

  test("known formats that are not read are named", async () => {
    const gif = await quarters().gif().toBuffer();
    const avif = await quarters().avif().toBuffer();
    const outcomes = await Promise.all(
      [gif, avif, Buffer.from("%PDF-1.7 ..."), Buffer.from("\0\0\0\x18ftypmp42....")].map((b) =>
        readPhotoBytes(b, "x"),
      ),
    );
    expect(outcomes.map((o) => o.ok || o.problem.code)).toEqual(Array(4).fill("unsupported-image"));
    expect(outcomes.map((o) => o.ok || o.problem.text.slice(0, 25))).toEqual([
      "the file is a GIF picture",
      "the file is an AVIF pictu",
      "the file is a PDF documen",
      "the file is a video or an",
    ]);
  });

  test("a camera raw file is not passed off as its thumbnail", async () => {
    const tiff = await quarters().tiff({ compression: "none" }).toBuffer();
    const at = tiff.readUInt32LE(4);
    // Mark the first picture as a reduced one: NewSubfileType (254) bit 0; TIFF 6.0, section 8.
    const raw = Buffer.from(tiff);
    const count = raw.readUInt16LE(at);
    let marked = 0;
    for (let i = 0; i < count; i++) {
      const entry = at + 2 + 12 * i;
      if (raw.readUInt16LE(entry) !== 254) continue;
      raw.writeUInt32LE(1, entry + 8);
      marked++;
    }
    if (marked === 0) {
      raw.writeUInt16LE(254, at + 2);
      raw.writeUInt16LE(4, at + 4);
      raw.writeUInt32LE(1, at + 6);
      raw.writeUInt32LE(1, at + 10);
    }
    expect(await problemOf(tiff)).toBe("no problem");
    expect(await problemOf(raw)).toBe("unsupported-image");
  });

  test("missing files, folders, pipes and impossible names end in one clear problem each", async () => {
    const pipe = join(folder, "pipe.jpg");
    execFileSync("mkfifo", [pipe]);
    const directory = join(folder, "folder.jpg");
    await mkdir(directory);
    const paths = [join(folder, "none.jpg"), directory, pipe, "a\0b.jpg", `${"a".repeat(5000)}.jpg`];
    const outcomes = await Promise.all(paths.map((path) => readPhoto(path)));
    expect(outcomes.map((o) => o.ok || [o.problem.code, o.problem.text])).toEqual([
      ["file-unreadable", "there is no such file"],
      ["file-unreadable", "this is a folder, not a photograph"],
      ["file-unreadable", "this is not an ordinary file"],
      ["file-unreadable", "the file name contains a zero character"],
      ["file-unreadable", "the file name is too long"],
    ]);
  });

  test("a file above the size limit is not read", async () => {
    const path = join(folder, "big.jpg");
    await writeFile(path, Buffer.alloc(2000));
    const outcome = await readPhoto(path, { maxByteCount: 1999 });
    expect(outcome.ok || outcome.problem.code).toBe("image-too-large");
    const within = await readPhoto(path, { maxByteCount: 2000 });
    expect(within.ok || within.problem.code).toBe("not-an-image");
  });
});
