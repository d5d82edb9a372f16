import { measurementSchemaName } from "./measurement-schema-name.js";
import type { MeasurementDocument, PhotoRecord, SetRecord } from "./measurement-schema.js";
import { software } from "./software.js";

/** All photographs of one call, and the sets among them, as one document. */
export const measurementDocument = (
  photos: readonly PhotoRecord[],
  sets: readonly SetRecord[] = [],
): MeasurementDocument => ({ schema: measurementSchemaName, software: software(), photos, sets });
