import type { SurveyDocument } from "../../record/index.js";
import type { Section } from "./content.js";
import { personText } from "./identification.js";

/** What this report is not. */
export function limitsSection({ statement, made_at }: SurveyDocument): Section {
  const by = personText(statement.examiner);
  return {
    id: "limits",
    title: "Limits of this report",
    blocks: [
      {
        kind: "list",
        items: [
          "This report documents what photographs show of the parts on the day they were taken. It states no value, " +
            "and it is no appraisal.",
          "Identification, maker, date and history are statements of the owner or examiner. They were not verified.",
          "Only what can be seen from above was measured. Wear inside holes, cracks, hardness, the thickness of teeth " +
            "below the face, and springs are outside it.",
          "Limits for wear and run-out in clock work are matters of trade practice; no standard sets them. Severities " +
            "here are the program's defaults and leave the decision to the repairer.",
          "Every photograph is named with its check-sum, and every setting is stated, so that the measurements can be " +
            "repeated by anyone.",
        ],
      },
      {
        kind: "paragraph",
        words: [
          ...(by === undefined ? ["The examiner is not named"] : ["Examined by ", { said: by }]),
          ...(statement.examined_on === undefined ? [] : [" on ", { said: statement.examined_on }]),
          `. Report made on ${made_at.slice(0, 10)}.`,
        ],
      },
    ],
  };
}
