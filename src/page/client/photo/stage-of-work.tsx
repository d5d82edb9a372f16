import type { JSX } from "preact";
import { useSurvey } from "../survey.js";

const stageOf = (name: string): string =>
  /(?:^|[\s_-])(before|after)\.[^.]*$/i.exec(name)?.[1]?.toLowerCase() ?? "";

/** Says that the photograph was taken before or after the work: the report then shows both side by side. */
export function StageOfWork({ photo }: { photo: string }): JSX.Element {
  const { change } = useSurvey();
  return (
    <label class="inline">
      Taken
      <select
        value={stageOf(photo)}
        onChange={(event) => {
          const to = event.currentTarget.value;
          const stage = to === "before" || to === "after" ? to : null;
          void change({ kind: "stage", photo, stage }).catch(() => undefined);
        }}
      >
        <option value="">at any time</option>
        <option value="before">before the work</option>
        <option value="after">after the work</option>
      </select>
    </label>
  );
}
