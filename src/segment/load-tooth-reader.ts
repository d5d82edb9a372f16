import type * as Runtime from "onnxruntime-node";
import { ok, type Outcome } from "../problem/index.js";
import { modelRefused, modelsFolder, readModelFile, wholeNumber } from "./model-file.js";

export interface ToothReaderOptions {
  /** Folder with the network; default: the package's own. */
  readonly folder?: string;
  /** Threads for one strip, 1 or 2; default 1. */
  readonly threads?: number;
}

/** The network that tells teeth along a strip of a rim, ready for any number of strips. */
export interface ToothReader {
  /** Of the network's file, lower-case hex. */
  readonly sha256: string;
  /**
   * @param planes red, green and blue, 32 rows of `columns`, less their mean over their spread.
   * @returns 3 rows of `columns`: cosine and sine of the place within a pitch, both near 0 where the network cannot
   * tell; logit of a tooth against a space.
   */
  read(planes: Float32Array, columns: number): Promise<Float32Array>;
  /** Frees the network's memory; the reader is of no use afterwards. */
  close(): Promise<void>;
}

/**
 * Reads the network, checks its SHA-256 and prepares it.
 *
 * @returns the reader, or problem "file-unreadable" with one line to show: counting goes on without it.
 */
export async function loadToothReader(options: ToothReaderOptions = {}): Promise<Outcome<ToothReader>> {
  const file = await readModelFile(options.folder ?? modelsFolder(), "teeth", ({ rows }) =>
    wholeNumber(rows, 256),
  );
  if (!file.ok) return file;
  const { bytes, sha256, shape: rows } = file.value;
  let runtime: typeof Runtime;
  let session: Runtime.InferenceSession;
  try {
    runtime = await import("onnxruntime-node");
    session = await runtime.InferenceSession.create(bytes, {
      intraOpNumThreads: options.threads ?? 1,
      interOpNumThreads: 1,
      executionMode: "sequential",
      logSeverityLevel: 3,
    });
  } catch (cause) {
    return modelRefused(cause);
  }
  return ok({
    sha256,
    read: async (planes, columns) => {
      const strip = new runtime.Tensor("float32", planes, [1, 3, rows, columns]);
      const { teeth } = await session.run({ strip });
      const values = teeth?.data;
      if (!(values instanceof Float32Array) || values.length !== 3 * columns)
        throw new Error(`tooth network: expected 3 rows of ${columns}`);
      return values;
    },
    close: () => session.release(),
  });
}
