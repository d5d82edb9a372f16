import { createHash } from "node:crypto";
import { readFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { failed, ok, type Outcome } from "../problem/index.js";
import { join } from "node:path";

export const modelName = "metal";

/** Beside `src` and beside `dist`, so the same step up works from either. */
export const modelsFolder = (): string => fileURLToPath(new URL("../../models/", import.meta.url));

export interface ModelFile {
  readonly bytes: Uint8Array;
  /** Lower-case hex; equals the one that the description names. */
  readonly sha256: string;
  /** Height and width that go in are multiples of this. */
  readonly stride: number;
  readonly classCount: number;
}

/** Everything that can be wrong here ends alike: the count goes on without the model. */
const unusable = (what: string): Outcome<never> =>
  failed(
    "file-unreadable",
    `segmentation model not used: ${what}`,
    "parts are found by colour and lightness alone; install the package again to get the model back",
  );

/**
 * Reads the network and its description and checks one against the other.
 *
 * @param folder holds `metal.onnx` and `metal.json`.
 * @returns or problem "file-unreadable": a file is missing, or is not what the description says.
 */
export async function readModelFile(folder: string): Promise<Outcome<ModelFile>> {
  const descriptionName = `${modelName}.json`;
  const networkName = `${modelName}.onnx`;
  let text: string;
  let bytes: Uint8Array;
  try {
    text = await readFile(join(folder, descriptionName), "utf8");
  } catch (cause) {
    return unusable(`${descriptionName} cannot be read (${codeOf(cause)})`);
  }
  const description = parseDescription(text);
  if (description === undefined) return unusable(`${descriptionName} does not describe a model`);
  try {
    bytes = await readFile(join(folder, networkName));
  } catch (cause) {
    return unusable(`${networkName} cannot be read (${codeOf(cause)})`);
  }
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  if (sha256 !== description.sha256)
    return unusable(
      `${networkName} is damaged (SHA-256 ${sha256.slice(0, 12)}..., expected ${description.sha256.slice(0, 12)}...)`,
    );
  return ok({ bytes, sha256, stride: description.stride, classCount: description.classCount });
}

/** The same line for a network that is whole, but that the runtime refuses. */
export const modelRefused = (cause: unknown): Outcome<never> =>
  unusable(
    `the runtime refused it (${cause instanceof Error ? (cause.message.split("\n")[0] ?? "") : String(cause)})`,
  );

function parseDescription(text: string): { sha256: string; stride: number; classCount: number } | undefined {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return undefined;
  }
  if (typeof json !== "object" || json === null) return undefined;
  const { sha256, stride, classes } = json as Record<string, unknown>;
  if (typeof sha256 !== "string" || !/^[0-9a-f]{64}$/.test(sha256)) return undefined;
  if (typeof stride !== "number" || !Number.isInteger(stride) || stride < 1 || stride > 256) return undefined;
  if (!Array.isArray(classes)) return undefined;
  return { sha256, stride, classCount: classes.length };
}

const codeOf = (cause: unknown): string =>
  typeof cause === "object" && cause !== null && "code" in cause ? String(cause.code) : "unknown reason";
