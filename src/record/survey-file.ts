import { LineCounter, parseDocument, isMap, isScalar, isSeq, type Node } from "yaml";
import { z } from "zod";
import { InputError } from "../problem/index.js";
import type { MeasureSettings } from "./record-photo.js";
import type { StatementRecord } from "./survey-record.js";

/** A survey folder's own file: what people say, and what the program must be told. */
export interface SurveyFile {
  readonly statement: StatementRecord;
  readonly settings: MeasureSettings;
  /** Name of a mat that was remembered. */
  readonly mat?: string;
  /** Movement file, relative to the folder. */
  readonly trains?: string;
  readonly paper?: "a4" | "letter";
  readonly inches?: boolean;
}

const largestText = 256 * 1024;

const words = z.union([z.string(), z.number(), z.date()]).transform((v) =>
  // YAML reads a bare 2025-03-01 as a date, 1780 as a number.
  v instanceof Date ? v.toISOString().slice(0, 10) : String(v),
);
const person = z.union([
  words.transform((name) => ({ name })),
  z.strictObject({ name: words.optional(), role: words.optional(), contact: words.optional() }),
]);

const length = z.union([z.number(), z.string()]).transform((v, context) => {
  const match = /^\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*$/.exec(String(v));
  const mm = match ? Number(match[1]) : NaN;
  if (mm > 0 && mm < 10_000) return mm;
  context.addIssue({
    code: "custom",
    message: `expected a length in mm like "149.7 mm", found "${cut(String(v))}"`,
  });
  return z.NEVER;
});

const identificationKeys = {
  "type of object": "type_of_object",
  "materials and techniques": "materials_and_techniques",
  measurements: "measurements",
  "inscriptions and markings": "inscriptions_and_markings",
  "distinguishing features": "distinguishing_features",
  title: "title",
  subject: "subject",
  "date or period": "date_or_period",
  maker: "maker",
  description: "description",
  "inventory number": "inventory_number",
  "related written material": "related_written_material",
  "place of origin": "place_of_origin",
  "related objects": "related_objects",
  "date documented": "date_documented",
} as const satisfies Record<string, keyof StatementRecord["identification"]>;

const identification = z.strictObject(
  Object.fromEntries(Object.keys(identificationKeys).map((key) => [key, words.optional()])) as Record<
    keyof typeof identificationKeys,
    z.ZodOptional<typeof words>
  >,
);

const shape = z.strictObject({
  title: words.optional(),
  reference: words.optional(),
  purpose: words.optional(),
  owner: person.optional(),
  examiner: person.optional(),
  "examined on": words.optional(),
  place: words.optional(),
  identification: identification.optional(),
  remarks: words.optional(),
  condition: z
    .array(
      z.union([
        words.transform((text) => ({ text })),
        z.strictObject({ part: words.optional(), text: words }),
      ]),
    )
    .optional(),
  "planned work": z.array(words).optional(),
  notice: words.optional(),
  scale: z
    .strictObject({
      across: length.optional(),
      along: length.optional(),
      "measured with": words.optional(),
      mat: words.optional(),
    })
    .optional(),
  "face heights": z.record(z.string(), length).optional(),
  trains: words.optional(),
  paper: z.enum(["a4", "letter"]).optional(),
  units: z.enum(["mm", "mm and inches"]).optional(),
  model: z.boolean().optional(),
});

/** Statement of a folder that has no survey file. */
export const emptyStatement: StatementRecord = { identification: {}, condition: [], planned_work: [] };

/**
 * Reads survey.yaml. Keys may be written in any case and with spaces, hyphens or underscores.
 *
 * @throws InputError naming the first mistakes with their lines.
 */
export function readSurveyFile(yamlText: string, name = "survey.yaml"): SurveyFile {
  if (yamlText.length > largestText)
    throw new InputError(`${name}: over 256 kB; expected a page or two of text`);
  const lines = new LineCounter();
  const document = parseDocument(yamlText, { lineCounter: lines, prettyErrors: false, logLevel: "silent" });
  const fault = document.errors[0];
  if (fault) {
    const line = lines.linePos(fault.pos[0]).line;
    throw new InputError(
      `${name}, line ${line}: this cannot be read as YAML (${fault.message.split("\n")[0]}); ` +
        "check colons and indentation, and put quotation marks around text with a colon",
    );
  }
  const lineOf = new Map<string, number>();
  const data = toPlain(document.contents, [], lineOf, lines, name) ?? {};
  const result = shape.safeParse(data);
  if (!result.success) throw new InputError(mistakes(result.error, lineOf, name));
  return surveyFileOf(result.data);
}

type Shape = z.infer<typeof shape>;

function surveyFileOf(file: Shape): SurveyFile {
  const { scale } = file;
  const faceHeights = Object.entries(file["face heights"] ?? {}).map(([label, heightMm]) =>
    label === "all" ? { heightMm } : { label: label.toUpperCase(), heightMm },
  );
  const ids = Object.entries(file.identification ?? {}).flatMap(([key, value]) =>
    value === undefined ? [] : [[identificationKeys[key as keyof typeof identificationKeys], value] as const],
  );
  return {
    statement: {
      ...present("title", file.title),
      ...present("reference", file.reference),
      ...present("purpose", file.purpose),
      ...present("owner", file.owner && compact(file.owner)),
      ...present("examiner", file.examiner && compact(file.examiner)),
      ...present("examined_on", file["examined on"]),
      ...present("place", file.place),
      identification: Object.fromEntries(ids),
      ...present("remarks", file.remarks),
      condition: (file.condition ?? []).map((c) => compact(c) as { part?: string; text: string }),
      planned_work: file["planned work"] ?? [],
      ...present("scale_measured_with", scale?.["measured with"]),
      ...present("notice", file.notice),
    },
    settings: {
      ...present("matAcrossMm", scale?.across),
      ...present("matAlongMm", scale?.along),
      ...(faceHeights.length > 0 ? { faceHeights } : {}),
      ...present("model", file.model),
    },
    ...present("mat", scale?.mat),
    ...present("trains", file.trains),
    ...present("paper", file.paper),
    ...(file.units === "mm and inches" ? { inches: true } : {}),
  };
}

const present = <K extends string, V>(key: K, value: V | undefined): { [P in K]?: V } =>
  value === undefined ? {} : ({ [key]: value } as { [P in K]?: V });

const compact = <T extends object>(value: T): { [K in keyof T]?: Exclude<T[K], undefined> } =>
  Object.fromEntries(Object.entries(value).filter(([, v]) => v !== undefined)) as never;

const cut = (text: string): string => (text.length > 40 ? `${text.slice(0, 40)}…` : text);

const plainKey = (key: string): string =>
  key
    .trim()
    .toLowerCase()
    .replace(/[\s_-]+/g, " ");

function toPlain(
  node: unknown,
  path: readonly string[],
  lineOf: Map<string, number>,
  lines: LineCounter,
  name: string,
): unknown {
  const start = (node as Node | null)?.range?.[0];
  if (start !== undefined) lineOf.set(path.join(" > "), lines.linePos(start).line);
  if (path.length > 8) throw new InputError(`${name}: nested deeper than anything in a survey file`);
  if (isMap(node)) {
    const plain = Object.create(null) as Record<string, unknown>;
    for (const { key, value } of node.items) {
      const word = plainKey(isScalar(key) ? String(key.value) : "");
      plain[word] = toPlain(value, [...path, word], lineOf, lines, name);
    }
    return { ...plain };
  }
  if (isSeq(node))
    return node.items.map((item, i) => toPlain(item, [...path, String(i)], lineOf, lines, name));
  if (isScalar(node)) return node.value ?? undefined;
  if (node !== null && node !== undefined)
    throw new InputError(`${name}: write values out; & and * marks are not used here`);
  return undefined;
}

function mistakes(error: z.ZodError, lineOf: ReadonlyMap<string, number>, name: string): string {
  const shown = error.issues.slice(0, 5).map((issue) => {
    const path = issue.path.map(String);
    let line: number | undefined;
    for (let n = path.length; n >= 0 && line === undefined; n--)
      line = lineOf.get(path.slice(0, n).join(" > "));
    const where = path.length > 0 ? `${path.join(" > ")}: ` : "";
    const what =
      issue.code === "unrecognized_keys"
        ? `"${issue.keys.map(cut).join('", "')}" is not known here`
        : issue.code === "invalid_union"
          ? "expected words"
          : issue.message;
    return `${name}, line ${line ?? 1}: ${where}${what}`;
  });
  return shown.join("\n");
}
