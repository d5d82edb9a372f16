import { join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { pictureSizes, sceneKinds, stressKinds } from "../scenes/index.js";
import type { PictureSize, SceneKind, StressKind } from "../scenes/index.js";
import { ablationText } from "./ablation-table.js";
import { accuracyText } from "./accuracy-tables.js";
import { writeBetweenMarks } from "./insert-between-marks.js";
import type { KnownPhoto } from "./known-photo.js";
import { measureKnownPhoto } from "./measure-known-photo.js";
import type { PhotoOutcome } from "./measure-known-photo.js";
import { photosWithTruthIn, sampleTruthFolders } from "./sample-photos.js";
import { remarksOn } from "./remarks-on.js";
import { rendererKey, scenePhoto } from "./scene-photos.js";
import { stressOutcomes } from "./stress-outcomes.js";
import { stressText } from "./stress-tables.js";

/** Some of everything, so that a run ends in ten minutes. */
const usualKinds: readonly SceneKind[] = [
  "single",
  "tagged",
  "tray",
  "close",
  "large-count",
  "small-teeth",
  "eccentric",
  "oval",
  "missing-run",
  "broken-tooth",
  "bent-tooth",
  "worn",
  "tall-arbor",
  "pins",
  "tilt-20",
  "flash-glare",
  "hard-shadow",
  "patinated",
  "steel",
  "blurred",
  "noisy",
  "low-light",
  "raised",
  "leaning-wheel",
  "escape-recoil",
  "ratchet",
  "cloth",
  "distractors",
  "cut-off",
];

/** The program was made with low seeds in sight; these it has not seen. */
const usualFirstSeed = 501;

const usage = `Measure photographs with known truth and compare.

  npm run accuracy [-- OPTIONS]

--kinds A,B        kinds of rendered photographs, "all", or "none" (default: ${usualKinds.length} of ${sceneKinds.length})
--stress           instead: photographs over the full range of troubles, both halves apart
--seeds N          photographs of each kind (default 1; of --stress: 20)
--first-seed N     (default ${usualFirstSeed})
--size SIZE        one of ${Object.keys(pictureSizes).join(", ")} (default 3mp)
--samples          also the photographs of samples/
--truth-dir DIR    also photographs with truth documents in this folder
--no-model         without the segmentation model
--ablation         every photograph with the model and without it, compared
--write            put the tables into DEVELOPERS.md
kinds: ${sceneKinds.join(", ")}
kinds of --stress: ${stressKinds.join(", ")}
`;

const projectFolder = fileURLToPath(new URL("../..", import.meta.url));
const keptFolder = join(projectFolder, "out", "known-photos");

async function main(): Promise<void> {
  const { values } = parseArgs({
    options: {
      kinds: { type: "string" },
      stress: { type: "boolean", default: false },
      seeds: { type: "string" },
      "first-seed": { type: "string", default: `${usualFirstSeed}` },
      size: { type: "string", default: "3mp" },
      samples: { type: "boolean", default: false },
      "truth-dir": { type: "string" },
      "no-model": { type: "boolean", default: false },
      ablation: { type: "boolean", default: false },
      write: { type: "boolean", default: false },
    },
  });
  const kinds = kindsFrom(values.stress ? "none" : values.kinds);
  const troubles = values.stress ? troublesFrom(values.kinds) : [];
  const [seeds, first] = [Number(values.seeds ?? (values.stress ? 20 : 1)), Number(values["first-seed"])];
  const { size } = values;
  if (
    !kinds ||
    !troubles ||
    !isSize(size) ||
    !Number.isInteger(seeds) ||
    !Number.isInteger(first) ||
    seeds < 1
  ) {
    process.stderr.write(usage);
    process.exitCode = 2;
    return;
  }
  if (values.stress) {
    const withModel = !values["no-model"];
    const text = stressText(
      await stressOutcomes(keptFolder, troubles, { first, seeds }, withModel),
      `Rendered photographs (test/scenes/stress-kinds.ts), seeds ${first} to ${first + seeds - 1} of each trouble.`,
    );
    process.stdout.write(text);
    if (values.write) await writeBetweenMarks(join(projectFolder, "DEVELOPERS.md"), "stress", text);
    return;
  }
  const outcomes: PhotoOutcome[] = [];
  const without: PhotoOutcome[] = [];
  const take = async (photo: KnownPhoto): Promise<void> => {
    outcomes.push(await measured(photo, !values["no-model"]));
    if (values.ablation) without.push(await measured(photo, false));
  };
  const key = await rendererKey();
  for (const kind of kinds)
    for (let seed = first; seed < first + seeds; seed++) {
      const photo = await scenePhoto(keptFolder, kind, seed, size, key);
      await take(photo);
    }
  const folders = [
    ...(values.samples ? await sampleTruthFolders(join(projectFolder, "samples")) : []),
    ...(values["truth-dir"] === undefined ? [] : [values["truth-dir"]]),
  ];
  for (const folder of folders) for (const photo of await photosWithTruthIn(folder)) await take(photo);
  if (outcomes.length === 0)
    throw new Error("no photograph to measure: name kinds, --samples or --truth-dir");
  const words = [
    kinds.length > 0
      ? `Rendered photographs (test/scenes), ${size}, seeds ${first} to ${first + seeds - 1} of each kind.`
      : "",
    values.samples ? "Rows named after folders: the sample photographs." : "",
  ];
  const text =
    accuracyText(outcomes, words.filter((word) => word !== "").join(" ")) +
    (values.ablation ? ablationText({ withModel: outcomes, without }) : "");
  process.stdout.write(text);
  if (values.write) await writeBetweenMarks(join(projectFolder, "DEVELOPERS.md"), "accuracy", text);
}

/** Measures one, and tells what went wrong with it, if anything did. */
async function measured(photo: KnownPhoto, withModel: boolean): Promise<PhotoOutcome> {
  const started = performance.now();
  const outcome = await measureKnownPhoto(photo, withModel);
  const seconds = ((performance.now() - started) / 1000).toFixed(1);
  const name = relative(projectFolder, photo.path) + (withModel ? "" : " without model");
  process.stderr.write(`${[`${name}, ${seconds} s`, ...remarksOn(outcome)].join("; ")}\n`);
  return outcome;
}

function kindsFrom(text: string | undefined): readonly SceneKind[] | undefined {
  if (text === undefined) return usualKinds;
  if (text === "none") return [];
  if (text === "all") return sceneKinds;
  const kinds = text.split(",").map((name) => sceneKinds.find((kind) => kind === name.trim()));
  return kinds.every((kind) => kind !== undefined) ? kinds : undefined;
}

function troublesFrom(text: string | undefined): readonly StressKind[] | undefined {
  if (text === undefined) return stressKinds;
  const kinds = text.split(",").map((name) => stressKinds.find((kind) => kind === name.trim()));
  return kinds.every((kind) => kind !== undefined) ? kinds : undefined;
}

const isSize = (size: string): size is PictureSize => Object.hasOwn(pictureSizes, size);

await main();
