/** Stands at the head of every measurement document. */
export const measurementSchemaName = "wheelsurvey/measurement/1";
