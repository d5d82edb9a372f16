import { ok, type Outcome } from "../problem/index.js";
import { wholeNumber } from "./model-file.js";
import { openNetwork, type OpenOptions } from "./open-network.js";

export type ToothReaderOptions = OpenOptions;

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
  const opened = await openNetwork("teeth", ({ rows }) => wholeNumber(rows, 256), options);
  if (!opened.ok) return opened;
  const { runtime, session, sha256, shape: rows } = opened.value;
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
