import { isMap, isPair, isScalar, parseDocument, stringify } from "yaml";
import { InputError } from "../problem/index.js";
import { correctionsSchema, noCorrections, type CorrectionsRecord } from "./corrections.js";

/** Name of the file in a survey folder. */
export const correctionsFileName = "corrections.yaml";

const largestText = 4 * 1024 * 1024;

const head = `# What people changed by hand. Measurements are kept apart and are never altered.
# Angles in degrees, counter-clockwise from x; px of the upright photograph.
`;

/**
 * Reads corrections.yaml. Keys are spelt with spaces there ("left out", "face heights").
 *
 * @throws InputError saying what is wrong.
 */
export function readCorrectionsFile(yamlText: string, name = correctionsFileName): CorrectionsRecord {
  if (yamlText.length > largestText) throw new InputError(`${name}: over 4 MB; is it the right file?`);
  const document = parseDocument(yamlText, { prettyErrors: false, logLevel: "silent" });
  const fault = document.errors[0];
  if (fault)
    throw new InputError(`${name}: this cannot be read as YAML (${fault.message.split("\n")[0]}); mend it`);
  if (document.contents === null) return noCorrections;
  // A key that an object has from birth would be taken for data.
  if (
    isMap(document.contents) &&
    document.contents.items.some((item) => !isPair(item) || !isScalar(item.key))
  )
    throw new InputError(`${name}: expected plain names before the colons`);
  let plain: unknown;
  try {
    plain = document.toJS({ maxAliasCount: 0 });
  } catch (cause) {
    throw new InputError(`${name}: write values out; & and * marks are not used here`, { cause });
  }
  const result = correctionsSchema.safeParse(withKeys(plain, (key) => key.trim().replaceAll(" ", "_")));
  if (result.success) return result.data;
  const issue = result.error.issues[0]!;
  throw new InputError(`${name}: at ${issue.path.map(String).join(" > ")}: ${issue.message}`, {
    cause: result.error,
  });
}

/** The file for these corrections: what `readCorrectionsFile` reads back unchanged. */
export const correctionsText = (corrections: CorrectionsRecord): string =>
  head +
  stringify(
    withKeys(corrections, (key) => key.replaceAll("_", " ")),
    { lineWidth: 110, aliasDuplicateObjects: false },
  );

function withKeys(value: unknown, rename: (key: string) => string, depth = 0): unknown {
  if (depth > 12) return undefined;
  if (Array.isArray(value)) return value.map((item) => withKeys(item, rename, depth + 1));
  if (typeof value !== "object" || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, inner]) => [rename(key), withKeys(inner, rename, depth + 1)]),
  );
}
