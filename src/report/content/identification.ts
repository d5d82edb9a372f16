import type { IdentificationRecord, PersonRecord, StatementRecord } from "../../record/index.js";
import type { Fact, Section } from "./content.js";

/** Headings of the Object ID standard, in its order; further ones after the tenth. */
const headings: readonly (readonly [keyof IdentificationRecord, string])[] = [
  ["type_of_object", "Type of object"],
  ["materials_and_techniques", "Materials and techniques"],
  ["measurements", "Measurements, as stated"],
  ["inscriptions_and_markings", "Inscriptions and markings"],
  ["distinguishing_features", "Distinguishing features"],
  ["title", "Title"],
  ["subject", "Subject"],
  ["date_or_period", "Date or period, as stated"],
  ["maker", "Maker, as stated"],
  ["description", "Description"],
  ["inventory_number", "Inventory number"],
  ["related_written_material", "Related written material"],
  ["place_of_origin", "Place of origin or discovery"],
  ["related_objects", "Cross-reference to related objects"],
  ["date_documented", "Date documented"],
];

export const personText = (person: PersonRecord | undefined): string | undefined => {
  const parts = [person?.name, person?.role, person?.contact].filter((p) => p !== undefined);
  return parts.length > 0 ? parts.join(", ") : undefined;
};

/** What the owner or examiner said of the object, under the headings of the open Object ID standard. */
export function identificationSection(statement: StatementRecord): Section {
  const { identification, remarks, condition } = statement;
  const rows: Fact[] = headings.flatMap(([key, term]) => {
    const said = identification[key];
    return said === undefined ? [] : [{ term, words: [{ said }] }];
  });
  const open = headings.slice(0, 10).filter(([key]) => identification[key] === undefined);
  return {
    id: "identification",
    title: "Identification",
    blocks: [
      {
        kind: "paragraph",
        quiet: true,
        words:
          "Under the headings of the open Object ID standard. These are statements of the owner or examiner; " +
          "the measurements of the parts follow in their own sections.",
      },
      ...(rows.length > 0 ? [{ kind: "facts" as const, rows }] : []),
      ...(open.length > 0
        ? [
            {
              kind: "paragraph" as const,
              quiet: true,
              words: `Not stated: ${open.map(([, term]) => term.replace(", as stated", "").toLowerCase()).join(", ")}.`,
            },
          ]
        : []),
      ...(condition.length > 0
        ? [
            { kind: "heading" as const, title: "Condition, as stated" },
            {
              kind: "list" as const,
              items: condition.map(({ part, text }) =>
                part === undefined ? [{ said: text }] : [{ said: part }, ": ", { said: text }],
              ),
            },
          ]
        : []),
      ...(remarks === undefined
        ? []
        : [
            { kind: "heading" as const, title: "Remarks" },
            { kind: "paragraph" as const, words: [{ said: remarks }] },
          ]),
    ],
  };
}
