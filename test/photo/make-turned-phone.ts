/**
 * Makes turned-phone.heic as phones write them: wide-gamut colours (Display P3), stored lying on its side, with
 * both an `irot` box and an EXIF orientation that say how to turn it. A generated picture; camera data invented.
 * Run once: npx tsx test/photo/make-turned-phone.ts (needs `heif-enc` of Debian's libheif-examples).
 */
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import sharp from "sharp";

const upright = Buffer.from(
  `<svg width="96" height="64"><rect width="96" height="64" fill="#ffffff"/>
   <rect width="48" height="32" fill="#d02020"/><rect x="48" width="48" height="32" fill="#20a020"/>
   <rect y="32" width="48" height="32" fill="#2020d0"/></svg>`,
);

async function main(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "turned-phone-"));
  const jpeg = join(folder, "stored.jpg");
  const heic = join(folder, "stored.heic");
  await sharp(await sharp(upright).removeAlpha().rotate(-90).png().toBuffer())
    .withExif({
      IFD0: { Make: "Invented", Model: "Test camera" },
      IFD2: {
        FocalLength: "425/100",
        FocalLengthIn35mmFilm: "26",
        DateTimeOriginal: "2024:05:06 07:08:09",
      },
      IFD3: { GPSLatitudeRef: "N", GPSLatitude: "12/1 34/1 56/1" },
    })
    .withMetadata({ orientation: 6 })
    .withIccProfile("p3")
    .jpeg({ quality: 100, chromaSubsampling: "4:4:4" })
    .toFile(jpeg);
  execFileSync("heif-enc", ["-q", "95", "-p", "chroma=444", jpeg, "-o", heic]);
  writeFileSync(new URL("turned-phone.heic", import.meta.url), withRotation(readFileSync(heic), 3));
}

/** Adds an `irot` box (quarter turns counter-clockwise) to the only picture of a HEIC file. */
function withRotation(file: Buffer, quarterTurns: number): Buffer {
  const boxes = (from: number, to: number) => {
    const found = new Map<string, { at: number; size: number }>();
    for (let at = from; at < to; at += file.readUInt32BE(at))
      found.set(file.toString("latin1", at + 4, at + 8), { at, size: file.readUInt32BE(at) });
    return found;
  };
  const meta = boxes(0, file.length).get("meta")!;
  const inMeta = boxes(meta.at + 12, meta.at + meta.size);
  const iprp = inMeta.get("iprp")!;
  const ipco = boxes(iprp.at + 8, iprp.at + iprp.size).get("ipco")!;
  const ipma = boxes(iprp.at + 8, iprp.at + iprp.size).get("ipma")!;
  let properties = 0;
  for (let at = ipco.at + 8; at < ipco.at + ipco.size; at += file.readUInt32BE(at)) properties++;
  const irot = Buffer.from([0, 0, 0, 9, ...Buffer.from("irot"), quarterTurns]);
  const ipcoNew = Buffer.concat([file.subarray(ipco.at, ipco.at + ipco.size), irot]);
  ipcoNew.writeUInt32BE(ipco.size + 9, 0);
  const ipmaNew = Buffer.concat([
    file.subarray(ipma.at, ipma.at + ipma.size),
    Buffer.from([0x80 | (properties + 1)]),
  ]);
  ipmaNew.writeUInt32BE(ipma.size + 1, 0);
  ipmaNew[18]! += 1;
  const out = Buffer.concat([
    file.subarray(0, ipco.at),
    ipcoNew,
    ipmaNew,
    file.subarray(iprp.at + iprp.size),
  ]);
  out.writeUInt32BE(iprp.size + 10, iprp.at);
  out.writeUInt32BE(meta.size + 10, meta.at);
  // iloc version 0 with 4-byte offsets and bases, as heif-enc writes it: each item moves back by ten bytes.
  const iloc = inMeta.get("iloc")!;
  const items = out.readUInt16BE(iloc.at + 14);
  for (let i = 0; i < items; i++) {
    const base = iloc.at + 16 + 18 * i + 4;
    out.writeUInt32BE(out.readUInt32BE(base) + 10, base);
  }
  return out;
}

await main();
