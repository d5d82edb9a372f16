import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { StatementRecord } from "../../../record/index.js";
import { post, surveyPath } from "../ask.js";
import { Field } from "../field.js";
import { useSurvey } from "../survey.js";

type Identification = StatementRecord["identification"];

/** Heads of the open Object ID standard (1999), and how survey.yaml spells them. */
const identification: readonly (readonly [keyof Identification, string, number?])[] = [
  ["type_of_object", "Type of object"],
  ["maker", "Maker"],
  ["date_or_period", "Date or period"],
  ["materials_and_techniques", "Materials and techniques"],
  ["measurements", "Measurements"],
  ["inscriptions_and_markings", "Inscriptions and markings", 2],
  ["distinguishing_features", "Distinguishing features", 2],
  ["subject", "Subject"],
  ["description", "Description", 4],
  ["inventory_number", "Inventory number"],
  ["place_of_origin", "Place of origin"],
  ["related_objects", "Related objects"],
  ["related_written_material", "Related written material"],
  ["date_documented", "Date documented"],
];

const files = [
  ["report.pdf", "PDF, to print or send"],
  ["report.html", "HTML, opens in any browser"],
  ["measurements.csv", "CSV, for a spreadsheet"],
  ["survey.json", "JSON, for other programs"],
  ["SHA256SUMS", "Check-sums"],
] as const;

/** What is said of the clock, and the report itself. */
export function ReportScreen(): JSX.Element {
  const { state, tell } = useSurvey();
  const { report, name, statement, settings, progress } = state;
  const [preview, setPreview] = useState(false);
  const measuring = progress.done < progress.total;
  const has = (file: string): boolean => report.files.includes(file);
  const make = async (): Promise<void> => {
    try {
      await post(surveyPath(name, "report"));
    } catch (error) {
      tell(error instanceof Error ? error.message : String(error));
    }
  };
  return (
    <>
      <h1>Report</h1>
      <section aria-label="The report">
        <div class="row">
          <button
            type="button"
            class="main"
            disabled={report.making || progress.total === 0}
            onClick={() => void make()}
          >
            {report.making ? "Making the report …" : has("report.pdf") ? "Make it again" : "Make the report"}
          </button>
          {has("report.html") && (
            <button type="button" aria-pressed={preview} onClick={() => setPreview(!preview)}>
              {preview ? "Close the preview" : "Preview"}
            </button>
          )}
        </div>
        <p role="status">
          {report.making
            ? "This takes a few seconds for each photograph that is not measured yet."
            : report.madeAt === undefined
              ? "No report was made yet."
              : `Made ${new Date(report.madeAt).toLocaleString()}.${report.stale ? " Something was changed since: make it again." : ""}`}
          {measuring && !report.making ? " Some photographs are not measured yet." : ""}
        </p>
        {report.words !== undefined && <p class="message fault">{report.words}</p>}
        {report.files.length > 0 && (
          <ul class="downloads">
            {files
              .filter(([file]) => has(file))
              .map(([file, words]) => (
                <li key={file}>
                  <a class="button" href={`${surveyPath(name, "report", file)}?download`} download={file}>
                    {file}
                  </a>{" "}
                  <span class="quiet">{words}</span>
                </li>
              ))}
          </ul>
        )}
        {preview && has("report.html") && (
          <iframe
            class="preview"
            title="Preview of the report"
            sandbox="allow-same-origin"
            src={`${surveyPath(name, "report", "report.html")}?v=${report.madeAt ?? ""}`}
          />
        )}
        <p class="quiet">
          Photographs named alike, one ending in “before” and one in “after” (S3-before.jpg, S3-after.jpg),
          are set side by side.
        </p>
      </section>
      <section aria-label="What is said of it">
        <h2>What is said of it</h2>
        <p class="quiet">Kept apart from what was measured. Saved as you type, in survey.yaml.</p>
        <div class="fields">
          <Said path={["title"]} label="Title" value={statement.title} />
          <Said path={["reference"]} label="Reference" value={statement.reference} />
          <Said
            path={["purpose"]}
            label="Purpose"
            value={statement.purpose}
            suggestions={["record for insurance", "appraisal", "repair record"]}
          />
          <Said path={["owner", "name"]} label="Owner" value={statement.owner?.name} />
          <Said path={["owner", "contact"]} label="Owner’s contact" value={statement.owner?.contact} />
          <Said path={["examiner", "name"]} label="Examiner" value={statement.examiner?.name} />
          <Said path={["examiner", "role"]} label="Examiner’s role" value={statement.examiner?.role} />
          <Said path={["examined on"]} label="Examined on" value={statement.examined_on} />
          <Said path={["place"]} label="Place" value={statement.place} />
        </div>
        <h3>Identification</h3>
        <div class="fields">
          {identification.map(([key, label, rows]) => (
            <Said
              key={key}
              path={["identification", key.replaceAll("_", " ")]}
              label={label}
              value={statement.identification[key]}
              {...(rows === undefined ? {} : { rows })}
            />
          ))}
        </div>
        <h3>Condition and work</h3>
        <div class="fields">
          <Lines
            label="Condition, a line each; begin with a part and a colon (T2: …) where it is about one"
            path={["condition"]}
            lines={statement.condition.map(({ part, text }) =>
              part === undefined ? text : `${part}: ${text}`,
            )}
            value={(line) => {
              const match = /^([A-Za-z]\d{1,2}):\s*(.+)$/.exec(line);
              return match ? { part: match[1]!.toUpperCase(), text: match[2]! } : line;
            }}
          />
          <Lines
            label="Planned work, a line each"
            path={["planned work"]}
            lines={statement.planned_work}
            value={(line) => line}
          />
          <Said path={["remarks"]} label="Remarks" rows={3} value={statement.remarks} />
        </div>
        <div class="row">
          <Choice
            label="Paper"
            path={["paper"]}
            value={settings.paper ?? "a4"}
            choices={[
              ["a4", "A4"],
              ["letter", "US Letter"],
            ]}
          />
          <Choice
            label="Units"
            path={["units"]}
            value={settings.inches ? "mm and inches" : "mm"}
            choices={[
              ["mm", "mm"],
              ["mm and inches", "mm and inches"],
            ]}
          />
        </div>
      </section>
    </>
  );
}

function Said(props: {
  readonly path: readonly string[];
  readonly label: string;
  readonly value: string | undefined;
  readonly rows?: number;
  readonly suggestions?: readonly string[];
}): JSX.Element {
  const { path, label, value, rows, suggestions } = props;
  const { change, state } = useSurvey();
  return (
    <Field
      label={label}
      value={value ?? ""}
      draftKey={`${state.name} ${path.join(" ")}`}
      {...(rows === undefined ? {} : { rows })}
      {...(suggestions === undefined ? {} : { suggestions })}
      save={(text) => change({ kind: "statement", path, value: text.trim() === "" ? null : text })}
    />
  );
}

function Lines(props: {
  readonly label: string;
  readonly path: readonly string[];
  readonly lines: readonly string[];
  readonly value: (line: string) => unknown;
}): JSX.Element {
  const { label, path, lines, value } = props;
  const { change, state } = useSurvey();
  return (
    <Field
      label={label}
      rows={4}
      value={lines.join("\n")}
      draftKey={`${state.name} ${path.join(" ")}`}
      save={(text) => {
        const all = text
          .split("\n")
          .map((line) => line.trim())
          .filter((line) => line !== "");
        return change({ kind: "statement", path, value: all.length === 0 ? null : all.map(value) });
      }}
    />
  );
}

function Choice(props: {
  readonly label: string;
  readonly path: readonly string[];
  readonly value: string;
  readonly choices: readonly (readonly [string, string])[];
}): JSX.Element {
  const { label, path, value, choices } = props;
  const { change } = useSurvey();
  const id = `choice-${path.join("-")}`;
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <select
        id={id}
        value={value}
        onChange={(event) =>
          void change({ kind: "statement", path, value: event.currentTarget.value }).catch(() => undefined)
        }
      >
        {choices.map(([key, words]) => (
          <option key={key} value={key}>
            {words}
          </option>
        ))}
      </select>
    </div>
  );
}
