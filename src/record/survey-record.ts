import { z } from "zod";
import type { MovementResult } from "../trains/index.js";
import { InputError } from "../problem/index.js";
import { correctionsSchema, type CorrectionsRecord } from "./corrections.js";
import { measurementSchema, type MeasurementDocument } from "./measurement-schema.js";

export const surveySchemaName = "wheelsurvey/survey/1";

const text = z.string();
const optionalText = text.exactOptional();

/**
 * Headings of the open Object ID standard (Thornes, Dorrell, Lie, 1999): ten of identification, five further.
 * Photographs and measurements are the report's own business; the words here are the owner's.
 */
export const identificationSchema = z.object({
  type_of_object: optionalText,
  materials_and_techniques: optionalText,
  measurements: optionalText,
  inscriptions_and_markings: optionalText,
  distinguishing_features: optionalText,
  title: optionalText,
  subject: optionalText,
  date_or_period: optionalText,
  maker: optionalText,
  description: optionalText,
  inventory_number: optionalText,
  related_written_material: optionalText,
  place_of_origin: optionalText,
  related_objects: optionalText,
  date_documented: optionalText,
});

export const personSchema = z.object({ name: optionalText, role: optionalText, contact: optionalText });

/** What people said of the movement; nothing here was measured. */
export const statementSchema = z.object({
  title: optionalText,
  reference: optionalText,
  purpose: optionalText,
  owner: personSchema.exactOptional(),
  examiner: personSchema.exactOptional(),
  examined_on: optionalText,
  place: optionalText,
  identification: identificationSchema,
  remarks: optionalText,
  condition: z.array(z.object({ part: optionalText, text })),
  planned_work: z.array(text),
  scale_measured_with: optionalText,
  notice: optionalText,
});

const surveySchema = z.object({
  schema: z.literal(surveySchemaName),
  made_at: text,
  software: z.object({ name: text, version: text }),
  statement: statementSchema,
  measurement: measurementSchema,
  corrections: correctionsSchema.exactOptional(),
  trains: z.looseObject({}).exactOptional(),
});

type Frozen<T> = T extends object ? { readonly [K in keyof T]: Frozen<T[K]> } : T;

export type IdentificationRecord = Frozen<z.infer<typeof identificationSchema>>;
export type PersonRecord = Frozen<z.infer<typeof personSchema>>;
export type StatementRecord = Frozen<z.infer<typeof statementSchema>>;

/** Everything a report is made of, but for the pictures. */
export interface SurveyDocument {
  readonly schema: typeof surveySchemaName;
  /** When the report was made, ISO 8601. */
  readonly made_at: string;
  readonly software: { readonly name: string; readonly version: string };
  readonly statement: StatementRecord;
  readonly measurement: MeasurementDocument;
  /** What people changed by hand; `measurement` stands as it was measured, `correctedSurvey` puts both together. */
  readonly corrections?: CorrectionsRecord;
  readonly trains?: MovementResult;
}

/**
 * Reads a survey document back.
 *
 * @throws InputError if it is not one.
 */
export function readSurveyDocument(json: string, name = "survey.json"): SurveyDocument {
  let value: unknown;
  try {
    value = JSON.parse(json);
  } catch (cause) {
    throw new InputError(`${name}: not JSON; make the report again`, { cause });
  }
  const result = surveySchema.safeParse(value);
  // What the trains room wrote is handed on as it was: it is shown, never computed with.
  if (result.success) return result.data as unknown as SurveyDocument;
  const issue = result.error.issues[0]!;
  throw new InputError(
    `${name}: not a ${surveySchemaName} document: at ${issue.path.map(String).join(".")}: ${issue.message}`,
    { cause: result.error },
  );
}
