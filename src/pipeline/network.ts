import { isMainThread } from "node:worker_threads";
import type { Classify } from "../parts/index.js";
import type { Outcome, Problem } from "../problem/index.js";
import type { Segmenter } from "../segment/index.js";

/** One network a thread, prepared when it is first asked, and kept for the photographs that follow. */
let prepared: Promise<Outcome<Segmenter>> | undefined;

export interface Network {
  readonly classify: Classify;
  /** Why the network could not be asked; undefined while it was not needed or has answered. */
  readonly problem: () => Problem | undefined;
}

/** The segmentation network for one photograph. Worker threads fill the cores already: one thread each there. */
export function networkForPhoto(): Network {
  let problem: Problem | undefined;
  return {
    classify: async (picture) => {
      prepared ??= import("../segment/index.js").then(({ loadSegmenter }) =>
        loadSegmenter({ threads: isMainThread ? 2 : 1 }),
      );
      const network = await prepared;
      if (network.ok) return network.value.classify(picture);
      problem = network.problem;
      return undefined;
    },
    problem: () => problem,
  };
}
