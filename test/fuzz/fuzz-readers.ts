import { readFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { readPhotoBytes } from "../../src/photo/index.js";
import { SurveyError } from "../../src/problem/index.js";
import { seededRandom, type SeededRandom } from "../../src/quantity/index.js";
import {
  correctionsText,
  measurementDocument,
  readCorrectionsFile,
  readMeasurementDocument,
  readSurveyFile,
  recordPhoto,
} from "../../src/record/index.js";
import { readMovement } from "../../src/trains/index.js";
import { inventedPart, inventedPhoto, inventedView } from "../record/invented-part.js";
import { noisyJpeg, quarters } from "../photo/test-pictures.js";
import { spoilBytes, spoilText } from "./mutate.js";

/** Anything that reads what a user hands in. */
export interface FuzzedReader {
  readonly name: string;
  /** Before it is spoilt the input must be read, or the reader would see nothing but its first mistake. */
  readWhole(): Promise<boolean>;
  /** One spoilt input to the reader: "read", or "refused" if it said so in its own way. Whatever else it throws is a fault. */
  tryOne(random: SeededRandom): Promise<"read" | "refused">;
}

export interface FuzzTally {
  readonly name: string;
  readonly cases: number;
  readonly read: number;
  readonly refused: number;
  /** What a reader threw that is no answer to a user, with the seed that made it. */
  readonly faults: readonly { readonly seed: number; readonly text: string }[];
  readonly slowestMs: number;
}

/** The readers with inputs to spoil: a picture of each format, and files as the samples and examples have them. */
export async function fuzzedReaders(): Promise<FuzzedReader[]> {
  const sample = (path: string): Promise<string> =>
    readFile(fileURLToPath(new URL(`../../samples/demo-survey/${path}`, import.meta.url)), "utf8");
  const [jpeg, png, webp, tiff, heic, movement, survey] = await Promise.all([
    noisyJpeg(),
    quarters().png().toBuffer(),
    quarters().webp().toBuffer(),
    quarters().tiff().toBuffer(),
    readFile(fileURLToPath(new URL("../photo/turned-phone.heic", import.meta.url))),
    sample("movement.yaml"),
    sample("survey.yaml"),
  ]);
  const wheel = inventedPart({
    id: "part-1",
    count: 78,
    moduleMm: 0.6,
    centrePx: [2000, 1500],
    missing: [4],
  });
  const record = recordPhoto(inventedPhoto("bench.jpg"), inventedView, [wheel], [], {});
  const document = JSON.stringify(measurementDocument([record]), undefined, 1);
  return [
    ...Object.entries({ jpeg, png, webp, tiff, heic }).map(([name, bytes]) => photoReader(name, bytes)),
    textReader("movement.yaml", movement, (text) => readMovement(text).ok),
    textReader("survey.yaml", survey, (text) => void readSurveyFile(text)),
    textReader("corrections.yaml", corrections, (text) => void readCorrectionsFile(text)),
    textReader("measurement.json", document, (text) => void readMeasurementDocument(text)),
  ];
}

/** Invented. */
const corrections = correctionsText({
  photos: [
    {
      file: "bench.jpg",
      sha256: "0".repeat(64),
      reason: "the wheel was moved",
      face_heights: [{ label: "T2", mm: 1.9 }],
      parts: [
        {
          part: "part-1",
          at_px: [512, 400],
          tooth_count: 78,
          kind: "wheel",
          teeth: [{ angle_deg: 12.5, state: "broken" }],
        },
      ],
    },
  ],
  done: [],
});

const photoReader = (name: string, bytes: Uint8Array): FuzzedReader => ({
  name,
  readWhole: async () => (await readPhotoBytes(bytes, name)).ok,
  tryOne: async (random) =>
    (await readPhotoBytes(spoilBytes(bytes, random), name, { maxPixelCount: 4e6 })).ok ? "read" : "refused",
});

const textReader = (name: string, text: string, read: (text: string) => boolean | void): FuzzedReader => ({
  name,
  readWhole: () => Promise.resolve(read(text) !== false),
  tryOne: (random) => {
    const spoilt = spoilText(text, random);
    return Promise.resolve().then(() => (read(spoilt) === false ? "refused" : "read"));
  },
});

/** @param first seed of the first case; every seed makes one input, the same in every run. */
export async function fuzz(reader: FuzzedReader, first: number, cases: number): Promise<FuzzTally> {
  let [read, refused, slowestMs] = [0, 0, 0];
  const faults: { seed: number; text: string }[] = [];
  for (let seed = first; seed < first + cases; seed++) {
    const started = performance.now();
    try {
      if ((await reader.tryOne(seededRandom(seed))) === "read") read++;
      else refused++;
    } catch (error) {
      if (error instanceof SurveyError) refused++;
      else faults.push({ seed, text: String(error) });
    }
    slowestMs = Math.max(slowestMs, performance.now() - started);
  }
  return { name: reader.name, cases, read, refused, faults, slowestMs };
}
