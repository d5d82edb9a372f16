import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { pictureSizes, sceneSetKinds } from "../scenes/index.js";
import type { PictureSize, SceneSetKind } from "../scenes/index.js";
import { writeBetweenMarks } from "./insert-between-marks.js";
import { rendererKey } from "./scene-photos.js";
import { knownSet, measureKnownSet } from "./set-photos.js";
import { setTables, type SetOutcome } from "./set-tables.js";

const usage = `Measure rendered sets of photographs with known truth and compare.

  npx tsx test/accuracy/run-sets.ts [OPTIONS]

--kinds A,B        of ${sceneSetKinds.join(", ")} (default: all)
--seeds N          sets of each kind (default 1)
--first-seed N     (default 501)
--size SIZE        one of ${Object.keys(pictureSizes).join(", ")} (default 3mp)
--write            puts the tables between the set-accuracy marks of DEVELOPERS.md
`;

const root = fileURLToPath(new URL("../..", import.meta.url));
const { values } = parseArgs({
  options: {
    kinds: { type: "string" },
    seeds: { type: "string", default: "1" },
    "first-seed": { type: "string", default: "501" },
    size: { type: "string", default: "3mp" },
    write: { type: "boolean", default: false },
    help: { type: "boolean", default: false },
  },
});
const kinds = (values.kinds?.split(",") ?? [...sceneSetKinds]) as SceneSetKind[];
const [seeds, first] = [Number(values.seeds), Number(values["first-seed"])];
const wrong = kinds.filter((k) => !sceneSetKinds.includes(k));
if (values.help || wrong.length > 0 || !(seeds >= 1) || !(values.size in pictureSizes)) {
  process.stderr.write(usage);
  process.exit(values.help ? 0 : 2);
}
const renderer = await rendererKey();
const outcomes: SetOutcome[] = [];
for (const kind of kinds) {
  for (let seed = first; seed < first + seeds; seed++) {
    const known = await knownSet(
      join(root, "out/known-sets"),
      kind,
      seed,
      values.size as PictureSize,
      renderer,
    );
    const record = await measureKnownSet(known);
    outcomes.push({ known, record });
    process.stderr.write(
      `${kind} ${seed}: ${record.verdict ?? "told"} ${JSON.stringify({
        e: record.eccentricity_mm?.value,
        axial: [record.axial_runout_mm?.value, record.axial_runout_mm?.u, known.truth.axialRunoutMm],
        radial: record.radial_play_mm?.value,
        twist: record.twist_deg?.value,
        rock: record.rock_deg?.value,
        h: record.face_height_mm?.value,
        problems: record.problems?.map((p) => p.text),
      })}\n`,
    );
  }
}
const text =
  `Rendered sets (test/scenes), ${values.size}, seeds ${first} to ${first + seeds - 1} of each kind.\n\n` +
  setTables(outcomes);
process.stdout.write(`${text}\n`);
if (values.write) await writeBetweenMarks(join(root, "DEVELOPERS.md"), "set-accuracy", text);
