import type * as Runtime from "onnxruntime-node";
import { ok, type Outcome } from "../problem/index.js";
import { modelRefused, modelsFolder, readModelFile, type Fields, type ModelName } from "./model-file.js";

/** A network of the package, ready to run. */
export interface OpenNetwork<T> {
  readonly runtime: typeof Runtime;
  readonly session: Runtime.InferenceSession;
  /** Of the network's file, lower-case hex. */
  readonly sha256: string;
  readonly shape: T;
}

export interface OpenOptions {
  /** Folder with the network; default: the package's own. */
  readonly folder?: string;
  /** Threads for one picture, 1 or 2; default 2. Give 1 where workers already fill the cores. */
  readonly threads?: number;
}

const mostThreads = 2;

/**
 * Reads a network, checks its SHA-256 and prepares it. The runtime is loaded here, and only here.
 *
 * @returns or problem "file-unreadable" with one line to show: the classical way goes on.
 */
export async function openNetwork<T>(
  name: ModelName,
  shapeOf: (description: Fields) => T | undefined,
  { folder = modelsFolder(), threads = mostThreads }: OpenOptions,
): Promise<Outcome<OpenNetwork<T>>> {
  const file = await readModelFile(folder, name, shapeOf);
  if (!file.ok) return file;
  const { bytes, sha256, shape } = file.value;
  try {
    const runtime = await import("onnxruntime-node");
    const session = await runtime.InferenceSession.create(bytes, {
      intraOpNumThreads: Math.min(mostThreads, Math.max(1, Math.floor(threads))),
      interOpNumThreads: 1,
      executionMode: "sequential",
      // A thread that has nothing to do sleeps: waiting busily took a third of the processor time of a picture.
      extra: { session: { intra_op: { allow_spinning: "0" }, inter_op: { allow_spinning: "0" } } },
      logSeverityLevel: 3,
    });
    return ok({ runtime, session, sha256, shape });
  } catch (cause) {
    return modelRefused(cause);
  }
}
