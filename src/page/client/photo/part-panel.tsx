import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { PartCorrection, PartRecord, PhotoRecord } from "../../../record/index.js";
import type { Change } from "../../wire.js";
import { Field } from "../field.js";
import { useSurvey } from "../survey.js";
import { PlaceChoice } from "../place-choice.js";
import { kindWords, severityRank, severityWords } from "../words.js";
import { Measurements } from "./measurements.js";

interface PartPanelProps {
  readonly photo: string;
  readonly record: PhotoRecord;
  readonly shown: PartRecord;
  /** Absent for a part that only a person saw. */
  readonly measured: PartRecord | undefined;
  readonly correction: PartCorrection | undefined;
  readonly leftOut: boolean;
  readonly settingCircle: boolean;
  readonly onSetCircle: (on: boolean) => void;
}

/** What is counted on a part that has no teeth. */
const countedNoun: Partial<Record<PartRecord["kind"], string>> = {
  pinion: "leaves",
  "count-wheel": "notches",
  "locking-cam": "slots",
};

/** One part: what was measured, what a person says, and how to change or take it back. */
export function PartPanel(props: PartPanelProps): JSX.Element {
  const { photo, record, shown, measured, correction, leftOut, settingCircle, onSetCircle } = props;
  const { change, state } = useSurvey();
  const make = (wanted: Change): void => void change(wanted).catch(() => undefined);
  const set = (values: Extract<Change, { kind: "part" }>["set"]): void =>
    make({ kind: "part", photo, part: shown.id, set: values });
  const teeth = measured?.teeth;
  const [count, setCount] = useState(String(shown.teeth?.count ?? ""));
  useEffect(() => setCount(String(shown.teeth?.count ?? "")), [shown.teeth?.count]);
  const countValid = /^\d{1,4}$/.test(count) && Number(count) >= 1 && Number(count) <= 2000;
  const others = (teeth?.alternatives ?? []).filter(
    (each) => each.count !== teeth?.count && each.probability >= 0.001,
  );
  const label = measured?.label;
  const height = (record.settings?.face_heights_mm ?? []).find((each) => each.label === label);
  const typedMm = height?.from === undefined ? height?.height_mm : undefined;
  const noun = countedNoun[shown.kind] ?? "teeth";
  return (
    <section class="panel" aria-label={`Part ${shown.label ?? shown.id}`}>
      <h2>
        {shown.label ?? shown.id} <span class="quiet">{kindWords[shown.kind]}</span>
      </h2>
      {shown.kind !== "plate" && (
        <form
          class="count"
          onSubmit={(event) => {
            event.preventDefault();
            if (countValid) set({ toothCount: Number(count) });
          }}
        >
          <label for="count">Number of {noun}</label>
          <div class="row">
            <input
              id="count"
              inputMode="numeric"
              class="big"
              value={count}
              maxLength={4}
              onInput={(e) => setCount(e.currentTarget.value)}
            />
            <button type="submit" class="main" disabled={!countValid || Number(count) === shown.teeth?.count}>
              Set count
            </button>
          </div>
          <p>
            {teeth === undefined
              ? "The photograph gave no count."
              : `Measured: ${teeth.count}, probability ${teeth.probability > 0.999 ? "above 0.999" : teeth.probability.toFixed(3)}.`}
            {teeth !== undefined && teeth.probability < 0.95 && <strong> Not sure: count by hand.</strong>}
          </p>
          {others.length > 0 && (
            <p class="row">
              Next:
              {others.slice(0, 3).map((each) => (
                <button key={each.count} type="button" onClick={() => set({ toothCount: each.count })}>
                  {each.count} ({each.probability.toFixed(3)})
                </button>
              ))}
            </p>
          )}
        </form>
      )}
      <PlaceChoice label={shown.label} onPlace={(to) => set({ label: to })} id="part-place" />
      <div class="field">
        <label for="kind">Kind</label>
        <select
          id="kind"
          value={shown.kind}
          onChange={(e) => set({ kind: e.currentTarget.value as PartRecord["kind"] })}
        >
          {Object.entries(kindWords).map(([kind, words]) => (
            <option key={kind} value={kind}>
              {words}
            </option>
          ))}
        </select>
      </div>
      <Measurements part={shown} />
      <Findings part={shown} />
      {measured && (
        <Field
          key={`height ${shown.id}`}
          label={
            label === undefined
              ? "Height of faces without a tag in this photograph, mm"
              : `Height of the face of ${label} in this photograph, mm`
          }
          hint={
            height?.from === undefined
              ? "From the mat to the upper face. The photograph is then measured again."
              : `${height.height_mm.toFixed(2)} mm was found by its height set. What you type here goes before it.`
          }
          inputMode="decimal"
          value={typedMm === undefined ? "" : String(typedMm)}
          draftKey={`${state.name} ${photo} ${label ?? ""} height`}
          save={(text) => {
            const mm = text.trim() === "" ? null : Number(text.trim().replace(",", "."));
            if (mm !== null && !(mm >= 0 && mm <= 300))
              return Promise.reject(new Error("Expected a height from 0 to 300 mm."));
            return change({ kind: "face height", photo, ...(label === undefined ? {} : { label }), mm });
          }}
        />
      )}
      <Field
        key={`remark ${shown.id}`}
        label="Remark"
        rows={2}
        value={correction?.remark ?? ""}
        draftKey={`${state.name} ${photo} ${shown.id} remark`}
        save={(text) =>
          change({ kind: "part", photo, part: shown.id, set: { remark: text === "" ? null : text } })
        }
      />
      <div class="row">
        <button type="button" aria-pressed={settingCircle} onClick={() => onSetCircle(!settingCircle)}>
          {settingCircle ? "Done with the circle" : "Move the circle"}
        </button>
        <button type="button" onClick={() => set({ leftOut: !leftOut })}>
          {leftOut ? "Take this part in again" : "This is no part"}
        </button>
        {correction && (
          <button type="button" onClick={() => make({ kind: "as measured", photo, part: shown.id })}>
            {measured ? "As measured" : "Remove"}
          </button>
        )}
      </div>
    </section>
  );
}

function Findings({ part }: { part: PartRecord }): JSX.Element | null {
  const items = [...part.findings].sort((a, b) => severityRank[a.severity] - severityRank[b.severity]);
  if (items.length === 0) return null;
  return (
    <ul class="findings">
      {items.map(({ code, severity, text }) => (
        <li key={code} class={severity}>
          <strong>{severityWords[severity]}:</strong> {text}
        </li>
      ))}
    </ul>
  );
}
