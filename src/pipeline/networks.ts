import { isMainThread } from "node:worker_threads";
import type { PartsOptions } from "../parts/index.js";
import type { Outcome, Problem } from "../problem/index.js";
import type { Segmenter, ToothReader } from "../segment/index.js";

/** One of each a thread, prepared when it is first asked, and kept for the photographs that follow. */
let prepared: Promise<Outcome<Segmenter>> | undefined;
let preparedReader: Promise<Outcome<ToothReader>> | undefined;

export interface Networks {
  readonly ask: Required<Pick<PartsOptions, "classify" | "readTeeth">>;
  /** Why a network could not be asked; undefined while none was needed or all have answered. */
  readonly problem: () => Problem | undefined;
}

const threads = isMainThread ? 2 : 1;

/** The networks for one photograph. Worker threads fill the cores already: one thread each there. */
export function networksForPhoto(): Networks {
  let problem: Problem | undefined;
  const usable = async <T>(network: Promise<Outcome<T>>): Promise<T | undefined> => {
    const outcome = await network;
    if (outcome.ok) return outcome.value;
    problem = outcome.problem;
    return undefined;
  };
  return {
    ask: {
      classify: async (picture) => {
        prepared ??= import("../segment/index.js").then(({ loadSegmenter }) => loadSegmenter({ threads }));
        return (await usable(prepared))?.classify(picture);
      },
      readTeeth: async (planes, columns) => {
        preparedReader ??= import("../segment/index.js").then(({ loadToothReader }) =>
          loadToothReader({ threads }),
        );
        return (await usable(preparedReader))?.read(planes, columns);
      },
    },
    problem: () => problem,
  };
}
