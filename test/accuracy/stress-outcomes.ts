import type { StressKind } from "../scenes/index.js";
import { measureKnownPhoto } from "./measure-known-photo.js";
import { remarksOn } from "./remarks-on.js";
import { rendererKey, stressPhoto } from "./scene-photos.js";
import type { StressOutcome } from "./stress-tables.js";

/** Renders (or takes what was kept in `folder`) and measures; says on stderr how each came out. */
export async function stressOutcomes(
  folder: string,
  kinds: readonly StressKind[],
  { first, seeds }: { readonly first: number; readonly seeds: number },
  withModel: boolean,
): Promise<StressOutcome[]> {
  const key = await rendererKey();
  const outcomes: StressOutcome[] = [];
  for (let seed = first; seed < first + seeds; seed++)
    for (const kind of kinds) {
      const photo = await stressPhoto(folder, kind, seed, key);
      const started = performance.now();
      const outcome = await measureKnownPhoto(photo, withModel);
      const seconds = ((performance.now() - started) / 1000).toFixed(1);
      process.stderr.write(`${[`${kind} ${seed}, ${seconds} s`, ...remarksOn(outcome)].join("; ")}\n`);
      outcomes.push({ ...outcome, seed });
    }
  return outcomes;
}
