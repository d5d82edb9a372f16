import { parseArgs } from "node:util";
import { loadSegmenter } from "../../src/segment/index.js";
import { sceneKinds } from "../scenes/index.js";
import { overlapOf } from "./overlap.js";

/**
 * How well the network finds the metal, kind by kind, in pictures of a renderer that it was not trained on. For the
 * model card:
 *
 *     npx tsx test/segment/overlap-of-kinds.ts --kinds steel,wood --seeds 3 --first-seed 851 [--folder MODELS ...]
 *
 * Several folders are compared on the same pictures.
 */
const { values } = parseArgs({
  options: {
    kinds: { type: "string", default: "single" },
    seeds: { type: "string", default: "1" },
    "first-seed": { type: "string", default: "501" },
    folder: { type: "string", multiple: true },
  },
});
const segmenters = await Promise.all(
  (values.folder ?? [undefined]).map(async (folder) => {
    const loaded = await loadSegmenter(folder === undefined ? {} : { folder });
    if (!loaded.ok) throw new Error(loaded.problem.text);
    return loaded.value;
  }),
);
const first = Number(values["first-seed"]);
for (const name of values.kinds.split(",")) {
  const kind = sceneKinds.find((known) => known === name);
  if (kind === undefined) throw new Error(`no kind "${name}"; there are ${sceneKinds.join(", ")}`);
  const sums = segmenters.map(() => ({ both: 0, either: 0 }));
  for (let seed = first; seed < first + Number(values.seeds); seed++)
    for (const [k, segmenter] of segmenters.entries()) {
      const { both, either } = await overlapOf(segmenter, kind, seed, "2mp");
      sums[k]!.both += both;
      sums[k]!.either += either;
    }
  process.stdout.write(
    `| ${kind} | ${sums.map(({ both, either }) => (both / either).toFixed(3)).join(" | ")} |\n`,
  );
}
await Promise.all(segmenters.map((segmenter) => segmenter.close()));
