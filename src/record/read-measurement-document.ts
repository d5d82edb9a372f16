import type { z } from "zod";
import { InputError } from "../problem/index.js";
import { measurementSchemaName } from "./measurement-schema-name.js";
import { measurementSchema, type MeasurementDocument } from "./measurement-schema.js";

/**
 * Reads a measurement document. Keys that the contract does not name are dropped.
 *
 * @param json text, or a parsed value.
 * @throws InputError saying where the document departs from the contract.
 */
export function readMeasurementDocument(json: unknown, name = "measurement document"): MeasurementDocument {
  let value = json;
  if (typeof json === "string") {
    try {
      value = JSON.parse(json);
    } catch (cause) {
      throw new InputError(`${name}: not JSON; write it again with "measure --json"`, { cause });
    }
  }
  const result = measurementSchema.safeParse(value);
  if (result.success) return result.data;
  throw new InputError(`${name}: not a ${measurementSchemaName} document: ${explain(result.error)}`, {
    cause: result.error,
  });
}

/** The first few departures, with their places. */
function explain(error: z.ZodError): string {
  const shown = error.issues.slice(0, 3).map(({ path, message }) => {
    const place = path.map(String).join(".");
    return place === "" ? message : `at ${place}: ${message}`;
  });
  const more = error.issues.length - shown.length;
  return shown.join("; ") + (more > 0 ? `; and ${more} more` : "");
}
