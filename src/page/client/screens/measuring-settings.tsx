import type { JSX } from "preact";
import { Field } from "../field.js";
import { useSurvey } from "../survey.js";

/** What the program must be told to measure well: check bars and face heights of the survey. */
export function MeasuringSettings(): JSX.Element {
  const { state, change } = useSurvey();
  const { settings, name } = state;
  const save =
    (path: readonly string[]) =>
    (value: string): Promise<void> => {
      const mm = value
        .trim()
        .replace(",", ".")
        .replace(/\s*mm$/, "");
      return change({ kind: "statement", path, value: mm === "" ? null : `${mm} mm` });
    };
  const all = settings.faceHeights.find(({ label }) => label === undefined)?.heightMm;
  const text = (mm: number | undefined): string => (mm === undefined ? "" : String(mm));
  return (
    <details class="settings">
      <summary>Mat and heights</summary>
      <p class="quiet">
        Both check bars, from the middle of one tick to the middle of the other. A changed value measures the
        photographs again.
      </p>
      <div class="fields">
        <Field
          label="Check bar across, mm"
          hint="about 150 (A4, Letter) or 250 (A3)"
          inputMode="decimal"
          value={text(settings.matAcrossMm)}
          save={save(["scale", "across"])}
          draftKey={`${name} across`}
        />
        <Field
          label="Check bar along, mm"
          inputMode="decimal"
          value={text(settings.matAlongMm)}
          save={save(["scale", "along"])}
          draftKey={`${name} along`}
        />
        <Field
          label="Height of faces above the mat, mm"
          hint="for a wheel that lies flat: its thickness"
          inputMode="decimal"
          value={text(all)}
          save={save(["face heights", "all"])}
          draftKey={`${name} height`}
        />
      </div>
      {settings.mat !== undefined && (
        <p>
          Readings of the mat remembered as <bdi>{settings.mat}</bdi>.
        </p>
      )}
      {settings.faceHeights.some(({ label }) => label !== undefined) && (
        <p>
          Heights of single parts:{" "}
          {settings.faceHeights
            .filter(({ label }) => label !== undefined)
            .map(({ label, heightMm }) => `${label} ${heightMm} mm`)
            .join(", ")}
          .
        </p>
      )}
    </details>
  );
}
