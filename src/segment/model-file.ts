import { createHash } from "node:crypto";
import { readFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { failed, ok, type Outcome } from "../problem/index.js";
import { join } from "node:path";

/** The networks of the package: where the metal is, and where along a rim the teeth are. */
export type ModelName = "metal" | "teeth";

/** Beside `src` and beside `dist`, so the same step up works from either. */
export const modelsFolder = (): string => fileURLToPath(new URL("../../models/", import.meta.url));

export interface ModelFile<T> {
  readonly bytes: Uint8Array;
  /** Lower-case hex; equals the one that the description names. */
  readonly sha256: string;
  /** What else the description says. */
  readonly shape: T;
}

/** A description as it stands in its file. */
export type Fields = Readonly<Record<string, unknown>>;

/** Everything that can be wrong here ends alike: the count goes on without the model. */
const unusable = (what: string): Outcome<never> =>
  failed(
    "file-unreadable",
    `network not used: ${what}`,
    "parts are found and counted by colour and lightness alone; install the package again to get the network back",
  );

/**
 * Reads the network and its description and checks one against the other.
 *
 * @param folder holds `<name>.onnx` and `<name>.json`; @param shapeOf what is needed of the description, or undefined.
 * @returns or problem "file-unreadable": a file is missing, or is not what the description says.
 */
export async function readModelFile<T>(
  folder: string,
  name: ModelName,
  shapeOf: (description: Fields) => T | undefined,
): Promise<Outcome<ModelFile<T>>> {
  const descriptionName = `${name}.json`;
  const networkName = `${name}.onnx`;
  let text: string;
  let bytes: Uint8Array;
  try {
    text = await readFile(join(folder, descriptionName), "utf8");
  } catch (cause) {
    return unusable(`${descriptionName} cannot be read (${codeOf(cause)})`);
  }
  const description = parseDescription(text);
  const shape = description && shapeOf(description);
  if (shape === undefined) return unusable(`${descriptionName} does not describe a model`);
  try {
    bytes = await readFile(join(folder, networkName));
  } catch (cause) {
    return unusable(`${networkName} cannot be read (${codeOf(cause)})`);
  }
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  const expected = description!.sha256;
  if (sha256 !== expected)
    return unusable(
      `${networkName} is damaged (SHA-256 ${sha256.slice(0, 12)}..., expected ${expected.slice(0, 12)}...)`,
    );
  return ok({ bytes, sha256, shape });
}

/** The same line for a network that is whole, but that the runtime refuses. */
export const modelRefused = (cause: unknown): Outcome<never> =>
  unusable(
    `the runtime refused it (${cause instanceof Error ? (cause.message.split("\n")[0] ?? "") : String(cause)})`,
  );

function parseDescription(text: string): (Fields & { readonly sha256: string }) | undefined {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return undefined;
  }
  if (typeof json !== "object" || json === null) return undefined;
  const { sha256 } = json as Fields;
  if (typeof sha256 !== "string" || !/^[0-9a-f]{64}$/.test(sha256)) return undefined;
  return { ...json, sha256 };
}

/** A whole number of a description, from 1 to `most`; undefined where it is anything else. */
export const wholeNumber = (value: unknown, most: number): number | undefined =>
  typeof value === "number" && Number.isInteger(value) && value >= 1 && value <= most ? value : undefined;

const codeOf = (cause: unknown): string =>
  typeof cause === "object" && cause !== null && "code" in cause ? String(cause.code) : "unknown reason";
