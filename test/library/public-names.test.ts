import { expect, test } from "vitest";
import * as library from "../../src/index.js";

// What other programs may rely on. A name that goes, or comes, is a decision: change it here too.
test("the library shows these names and no others", () => {
  expect(Object.keys(library).sort()).toEqual([
    "InputError",
    "SurveyError",
    "UsageError",
    "evaluateMovement",
    "measurePhoto",
    "measurePhotos",
    "measurementDocument",
    "measurementJsonSchema",
    "readMeasurementDocument",
    "readMovement",
    "readPhoto",
    "readPhotoBytes",
  ]);
});
